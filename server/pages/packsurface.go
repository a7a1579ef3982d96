package pages

import (
	"fmt"
	"slices"
	"strings"

	"tacet/jobs"
	"tacet/server/paper"
)

// maxPackPhotos bounds the photos of one surface; the dispute file holds them all.
const maxPackPhotos = 24

func (p packer) surface(s *jobs.Surface) paper.PackSurface {
	j := p.job
	out := paper.PackSurface{Surface: s.Code, Name: surfaceName(j, s), Kind: spaced(s.Kind), Size: sizeOf(s), Section: Section(j, s),
		SpecifiedKgM2: s.SpecifiedMass(), AchievedKgM2: s.InstalledMass(), ThicknessMM: s.ThicknessMM(), LoadKNM2: j.AddedLoad(s), Photos: p.photos(s)}
	for _, l := range s.Layers {
		line := paper.PackLayer{N: l.N, Specified: jobs.Capital(l.SpecifiedName()), SpecifiedKgM2: l.SpecifiedMass(), SpecifiedMM: l.Specified.ThicknessMM(),
			AchievedKgM2: l.InstalledMass, Share: l.Share, State: spaced(l.Standing()), Unseen: l.CoveredUnseen}
		if l.Share > 0 {
			line.Installed, line.AchievedMM = installedWords(l), l.FittedMM()
		}
		out.Layers = append(out.Layers, line)
	}
	out.Says = p.forecasts(j.PredictSurface(s))
	return out
}

// forecasts says what is predicted on each basis, with what has to be known with it; bases that come to the same share a sentence.
func (p packer) forecasts(f jobs.Forecasts) []string {
	var says []string
	if !known(f.Specified) {
		says = append(says, forecastSentence("As specified", f.Specified))
	}
	var order []string
	bases := map[string][]string{}
	for _, basis := range []struct {
		name string
		f    jobs.Forecast
	}{{"as specified", f.Specified}, {"as installed", f.Installed}, {"as found", f.AsFound}} {
		if !known(basis.f) {
			continue
		}
		value := strings.TrimSpace(forecastSentence("", basis.f) + " " + flankingSentence(basis.f))
		if bases[value] == nil {
			order = append(order, value)
		}
		bases[value] = append(bases[value], basis.name)
	}
	for _, value := range order {
		says = append(says, "Predicted "+jobs.JoinWords(bases[value])+": "+value)
	}
	if last := len(says) - 1; strings.Contains(says[last], "±") {
		says[last] += " ± is one standard uncertainty."
	}
	return says
}

// installedWords says what was put up: what was recorded, else what was specified or agreed.
func installedWords(l *jobs.Layer) string {
	var materials []string
	for _, r := range l.Installs {
		if m := r.What.(*jobs.Install).Material; m != "" && !slices.Contains(materials, m) {
			materials = append(materials, m)
		}
	}
	if len(materials) > 0 {
		return jobs.Capital(jobs.JoinWords(materials))
	}
	return jobs.Capital(l.Name())
}

// photos are those of the surface in the order of its layers.
func (p packer) photos(s *jobs.Surface) []paper.PackPhoto {
	type shot struct {
		layer   int
		hash    jobs.Hash
		caption string
	}
	var shots []shot
	for _, r := range s.Work() {
		if !p.job.InForce(r) {
			continue
		}
		for _, h := range r.Blobs {
			if slices.ContainsFunc(shots, func(x shot) bool { return x.hash == h }) {
				continue
			}
			shots = append(shots, shot{r.On.Layer, h, p.caption(s, r)})
		}
	}
	slices.SortStableFunc(shots, func(a, b shot) int { return a.layer - b.layer })
	var out []paper.PackPhoto
	for _, x := range shots[:min(len(shots), maxPackPhotos)] {
		photo := paper.PackPhoto{Caption: x.caption}
		if e, _ := p.job.PhotoErased(x.hash); e != nil {
			photo.Erased = "erased on " + p.date(e.DoneAt())
		} else if p.opt.Photo != nil {
			photo.JPEG = p.opt.Photo(x.hash)
		}
		out = append(out, photo)
	}
	return out
}

// caption says what a photo was taken of: where, what was done or found there, when and by whom.
func (p packer) caption(s *jobs.Surface, r *jobs.Record) string {
	words := s.Code
	if l := s.Layer(r.On.Layer); l != nil {
		words += fmt.Sprintf(", layer %d, %s", l.N, jobs.Lower(l.Name()))
	}
	if rule, ok := jobs.RuleOf(r.On.Check); ok {
		words += ", " + jobs.Lower(rule.Title)
	}
	if says := strings.TrimRight(p.job.Says(r), "."); says != "" {
		words += ": " + says
	}
	words += ". " + p.date(r.DoneAt())
	if who := p.name(r); who != "" {
		words += ", " + who
	}
	return words + "."
}

// plan is the surface with the lines recorded behind it, nil for none.
func (p packer) plan(s *jobs.Surface) *paper.Plan {
	lines := p.job.LinesOf(s)
	if len(lines) == 0 || s.WidthM == nil || s.HeightM == nil {
		return nil
	}
	plan := &paper.Plan{WidthM: *s.WidthM, HeightM: *s.HeightM}
	for _, l := range lines {
		size := *s.HeightM * 1000
		if l.Across() {
			size = *s.WidthM * 1000
		}
		plan.Lines = append(plan.Lines, paper.PlanLines{What: l.What + "s", Across: l.Across(), AtMM: l.FromStart(size), Danger: l.What == "pipe" || l.What == "cable"})
		if l.Note != "" {
			plan.Notes = append(plan.Notes, sentence(l.Note))
		}
	}
	return plan
}
