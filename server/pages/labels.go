package pages

import (
	"io"

	"tacet/jobs"
	"tacet/server/paper"
)

func getLabels(v *visit) error {
	on, err := v.spot()
	if err != nil {
		return err
	}
	var codes []string
	name := on.j.Name + " labels"
	if on.s != nil {
		codes, name = []string{on.s.Code}, on.j.Name+" "+on.s.Code+" labels"
	}
	labels, err := Labels(on.j, codes, v.sheetOptions())
	if err != nil {
		return err
	}
	return v.pdf(name, func(w io.Writer) error { return paper.WriteLabels(w, labels) })
}

// Labels turns surfaces of a job into labels: one for the surface and one for each of its layers. Codes are as for [Sheets].
func Labels(j *jobs.Job, codes []string, opt SheetOptions) ([]paper.Label, error) {
	surfaces, err := surfacesOf(j, codes)
	if err != nil {
		return nil, err
	}
	var ls []paper.Label
	for _, s := range surfaces {
		code := jobs.SheetCode(j.ID, s.Code)
		l := paper.Label{Firm: opt.Firm, Job: j.Name, Room: roomName(j, s), Surface: s.Code, Name: surfaceName(j, s), Says: paper.LabelSays(s.SpecifiedMass(), s.ThicknessMM()),
			Code: jobs.FormatSheetCode(code), Section: Section(j, s), Printed: opt.printed(), Version: jobs.Count(len(j.Records), "record")}
		if opt.Host != "" {
			l.URL = paper.Payload(opt.Host, code)
		}
		ls = append(ls, l)
		for _, layer := range s.Layers {
			l.Layer, l.What, l.Says = layer.N, jobs.Capital(layer.Name()), paper.LabelSays(layer.Now.MassKgM2(), layer.Now.ThicknessMM())
			ls = append(ls, l)
		}
	}
	return ls, nil
}
