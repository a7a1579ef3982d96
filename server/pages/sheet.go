package pages

import (
	"fmt"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/server/paper"
)

// SheetOptions is what a printed sheet shows beside the job.
type SheetOptions struct {
	Firm    string
	Host    string         // https://office.example.org, for the codes; "" prints bare codes
	Printed time.Time      // now
	Zone    *time.Location // in which it is shown; nil: UTC
}

// Sheets turns surfaces of a job into sheets ready for paper.Write: those of the codes, in any letter case, or all of them
// for none. A code that the job does not have is an InputError.
func Sheets(j *jobs.Job, codes []string, opt SheetOptions) ([]paper.Sheet, error) {
	surfaces, err := surfacesOf(j, codes)
	if err != nil {
		return nil, err
	}
	sheets := make([]paper.Sheet, len(surfaces))
	for i, s := range surfaces {
		sheets[i] = sheetOf(j, s, opt)
	}
	return sheets, nil
}

// printed is the time of print in its zone.
func (opt SheetOptions) printed() time.Time {
	if opt.Zone == nil {
		return opt.Printed.UTC()
	}
	return opt.Printed.In(opt.Zone)
}

// surfacesOf are the surfaces of the codes, or all for none.
func surfacesOf(j *jobs.Job, codes []string) ([]*jobs.Surface, error) {
	if len(codes) == 0 {
		return j.Surfaces, nil
	}
	var surfaces []*jobs.Surface
	for _, c := range codes {
		s := j.Surface(c)
		if s == nil {
			return nil, &jobs.InputError{Field: "surface", Value: c, Hint: "no surface of this job has that code"}
		}
		surfaces = append(surfaces, s)
	}
	return surfaces, nil
}

func sheetOf(j *jobs.Job, s *jobs.Surface, opt SheetOptions) paper.Sheet {
	code := jobs.SheetCode(j.ID, s.Code)
	sheet := paper.Sheet{
		Firm: opt.Firm, Job: j.Name, Site: j.Site, Room: strings.TrimSpace(s.Room + " " + nameOfRoom(j, s)),
		Surface: s.Code, Name: surfaceName(j, s), Kind: spaced(s.Kind), Size: sizeOf(s),
		Printed: opt.printed(), Version: jobs.Count(len(j.Records), "record"),
		URL: paper.Payload(opt.Host, code), Code: jobs.FormatSheetCode(code),
		Section: Section(j, s), Cautions: cautionWords(j, s),
	}
	if opt.Host == "" {
		sheet.URL = ""
	}
	for _, l := range s.Layers {
		line := paper.Layer{N: l.N, What: jobs.Capital(l.Name()), ThicknessMM: l.Now.ThicknessMM(), MassKgM2: l.Now.MassKgM2(), State: stateWords(l)}
		if w, ok := s.ScrewWindow(l); ok {
			line.Screw = &paper.Screw{MinMM: w.MinMM, MaxMM: w.MaxMM, StockMM: w.StockMM}
		}
		sheet.Layers = append(sheet.Layers, line)
	}
	sheet.Totals = paper.Totals{MassKgM2: s.CarriedMass(), ThicknessMM: s.ThicknessMM(), LoadKNM2: j.AddedLoad(s)}
	if s.ThicknessLimit != nil {
		sheet.Totals.ThicknessLimitMM = *s.ThicknessLimit
	}
	if s.LoadLimit != nil {
		sheet.Totals.LoadLimitKNM2 = *s.LoadLimit
	}
	if st := j.Structure(s.Structure); st != nil {
		if s.LoadLimit == nil && st.LoadLimit != nil {
			sheet.Totals.LoadLimitKNM2 = *st.LoadLimit
		}
		sheet.Totals.LoadNote = loadNote(j, s, st)
	}
	for _, c := range s.Checks {
		line := paper.Check{Code: c.Rule.Code, Layer: c.Layer, Criterion: c.Rule.Accept, Measure: c.Rule.How, Photo: c.Rule.Photo, Stop: c.Rule.Stop}
		if c.State != jobs.CheckOpen {
			line.State = spaced(c.State)
		} else { // what is recorded already is not typed in from paper
			for _, m := range c.Rule.Measures {
				// beside a box to be filled in, what is counted says enough, and has room
				line.Values = append(line.Values, paper.Value{Name: strings.TrimPrefix(m.Name, "number of "), Unit: m.Range.Unit})
			}
		}
		sheet.Checks = append(sheet.Checks, line)
	}
	var targets []string
	for _, t := range j.TargetsFor(s) {
		t.Element, t.Room, t.Surface = "", "", "" // it is this surface's
		targets = append(targets, targetWords(t))
	}
	if len(targets) > 0 {
		sheet.Target = "Target " + strings.Join(targets, ", ") + "."
	}
	sheet.Prediction = forecastOnPaper("As specified", j.PredictSurface(s).Specified)
	return sheet
}

// loadNote says what else hangs on the same structure.
func loadNote(j *jobs.Job, s *jobs.Surface, st *jobs.Structure) string {
	var others []string
	for _, o := range j.On(st) {
		if o != s {
			others = append(others, o.Code)
		}
	}
	if len(others) == 0 {
		return ""
	}
	note := fmt.Sprintf("With %s on the same structure %s", strings.Join(others, ", "), loadOf(j.StructureLoad(st)))
	if st.LoadLimit != nil {
		note += " of " + loadOf(*st.LoadLimit)
	}
	return note + "."
}

// cautionWords are the questions that somebody competent has to answer, with the answer where it is recorded.
func cautionWords(j *jobs.Job, s *jobs.Surface) []string {
	var words []string
	for _, c := range j.Cautions(s) {
		if c.Answer == "" {
			words = append(words, jobs.Capital(c.Code)+": "+c.Asks+" For "+c.Who+".")
			continue
		}
		words = append(words, jobs.Capital(c.Code)+": "+cautionAnswer(c))
	}
	return words
}

// surfaceName is a surface as people call it: "Ceiling, living room".
func surfaceName(j *jobs.Job, s *jobs.Surface) string {
	name := jobs.Capital(spaced(s.Kind))
	if room := nameOfRoom(j, s); room != "" {
		name += ", " + room
	}
	return name
}

func nameOfRoom(j *jobs.Job, s *jobs.Surface) string {
	if r := j.Room(s.Room); r != nil {
		return r.Name
	}
	return ""
}

// sizeOf is the size of a surface in words.
func sizeOf(s *jobs.Surface) string {
	switch {
	case s.WidthM != nil && s.HeightM != nil:
		return fmt.Sprintf("%s × %s, %s", quantity(*s.WidthM, "m"), quantity(*s.HeightM, "m"), withUnit(decimal(s.NetAreaM2(), 2), "m²"))
	case s.LengthM != nil && s.GirthM != nil:
		return fmt.Sprintf("%s long, %s round", quantity(*s.LengthM, "m"), quantity(*s.GirthM, "m"))
	case s.LengthM != nil:
		return quantity(*s.LengthM, "m") + " long"
	}
	return ""
}
