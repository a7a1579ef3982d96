package pages

import (
	"io"
	"strings"

	"tacet/jobs"
	"tacet/server/paper"
)

func getSurveySheet(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	return v.pdf(j.Name+" survey", func(w io.Writer) error { return paper.WriteSurvey(w, SurveySheet(j, v.sheetOptions())) })
}

// getEmptySurvey is the sheet for a job that nobody has written down yet.
func getEmptySurvey(v *visit) error {
	j := jobs.NewJob("", v.who.Company)
	return v.pdf("survey", func(w io.Writer) error { return paper.WriteSurvey(w, SurveySheet(j, v.sheetOptions())) })
}

// SurveySheet is the sheet to take along to a survey, with what the record knows already.
func SurveySheet(j *jobs.Job, opt SheetOptions) paper.Survey {
	d := paper.Survey{Head: paperHead("Survey sheet", j, opt), Enquiry: surveyLists()}
	if e := j.Enquiry(); e != nil {
		d.Client, d.Words = e.Name, e.Words
	}
	for _, r := range j.Rooms {
		f := r.Facts
		room := paper.SurveyRoom{Code: r.Code, Name: r.Name, Level: f.FloorLevel, Use: f.Use, Stays: f.Stays, Access: f.Access, LengthM: asKnown(f.LengthM), WidthM: asKnown(f.WidthM)}
		var heights []string
		for _, h := range f.HeightsM {
			heights = append(heights, decimal(h, 3))
		}
		room.HeightsM = strings.Join(heights, ", ")
		d.Rooms = append(d.Rooms, room)
	}
	var targets []string
	for _, t := range j.Targets {
		targets = append(targets, targetWords(t))
	}
	for _, s := range j.Surfaces {
		f := paper.SurveySurface{Code: s.Code, Kind: spaced(s.Kind), Room: strings.TrimSpace(s.Room + " " + nameOfRoom(j, s)), WidthM: asKnown(s.WidthM), HeightM: asKnown(s.HeightM),
			Target: strings.Join(targets, ", "), LoadLimit: asKnown(s.LoadLimit), ThicknessLimit: asKnown(s.ThicknessLimit)}
		if s.Kind.Along() {
			f.WidthM, f.HeightM = asKnown(s.LengthM), asKnown(s.GirthM)
		}
		if st := j.Structure(s.Structure); st != nil {
			f.Structure = sentence("It belongs to " + st.Called())
			if f.LoadLimit == "" {
				f.LoadLimit = asKnown(st.LoadLimit)
			}
		}
		existing, _ := outward(j, s)
		for _, l := range existing {
			f.Existing = append(f.Existing, [2]string{jobs.Capital(jobs.NameOf(l)), decimal(l.ThicknessMM(), 1)})
		}
		d.Surfaces = append(d.Surfaces, f)
	}
	d.Cautions = []string{"Stop where you find coating, boards or lagging from before 2000, cracks, movement, live cables, or a floor that gives. Presume asbestos until a sample says otherwise. " +
		"Fire, structure, asbestos, electrics and ventilation are for those who are licensed for them, under the local code. A level read off a phone is an indication, never a result."}
	return d
}

func asKnown(x *float64) string {
	if x == nil {
		return ""
	}
	return decimal(*x, 3)
}

// surveyLists are the words of the forms, so that paper is typed in as it stands. What a survey looks for in services, hazards,
// agreements and moisture is common practice, no source.
func surveyLists() paper.SurveyLists {
	words := func(codes []string) (out []string) {
		for _, c := range codes {
			out = append(out, strings.ReplaceAll(c, "_", " "))
		}
		return out
	}
	l := paper.SurveyLists{Asks: words(jobs.Askers()), Answers: []string{"yes", "no", "not needed", "nobody knows yet"}, CannotPromise: jobs.CannotPromise(),
		Tests: words(jobs.QuickTests()), Known: []string{"seen", "drilled", "drawn", "guessed"}, Signal: []string{"yes", "no", "at the window only"},
		Agreements: []string{"consents", "neighbour's access, for a test too", "parking", "waste", "making good", "decoration", "who moves furniture", "excluded"},
		Services:   []string{"sockets, switches", "downlights", "fans, hood", "consumer unit", "radiators, tails", "gas", "wastes, soil stack", "sprinklers", "alarms", "underfloor heating", "data, meters", "other"},
		Hazards:    []string{"coating, board or lagging before 2000", "lead paint", "live cables", "fragile ceiling", "weak floor", "working height", "vermin, sharps", "people whom dust or noise harms"},
		Moisture:   []string{"damp", "mould", "leak", "cold bridge", "extract fan", "trickle vent", "airbrick", "open-flued appliance"}}
	for _, n := range jobs.NoiseKinds() {
		l.Noise = append(l.Noise, jobs.Capital(n.Heard))
	}
	for _, k := range jobs.SurfaceKinds() {
		l.Kinds = append(l.Kinds, spaced(k))
	}
	for _, w := range jobs.FlankingWays() {
		l.Ways = append(l.Ways, jobs.Capital(w.Name))
	}
	l.Decisions = []string{"treat", "leave", "tell client", "not seen"}
	return l
}
