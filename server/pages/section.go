package pages

import (
	"slices"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/drawing"
)

// Section is a surface as it is drawn: what exists, outward to the room, then its layers with what became of them.
func Section(j *jobs.Job, s *jobs.Surface) drawing.Section {
	d := drawing.Section{Kind: drawing.Kind(s.Kind), Code: s.Code, Answer: answerOf(j, s).Says, Room: roomName(j, s), Title: roomName(j, s)}
	existing, turned := outward(j, s)
	for _, l := range existing {
		d.Existing = append(d.Existing, slabOf(l))
	}
	for _, l := range s.Layers {
		slab := slabOf(l.Now)
		slab.Name = l.Name()
		slab.Number, slab.State, slab.Share = l.N, drawing.State(l.Standing()), l.Share
		switch e := l.Now.Element.(type) {
		case jobs.FillExisting:
			slab.Within = place(e.Existing, len(existing), turned)
		case jobs.RemoveExisting:
			slab.Removes = place(e.Existing, len(existing), turned)
			slab.Name = "taken away"
		}
		addDefects(&slab, s, l)
		d.Layers = append(d.Layers, slab)
	}
	if s.Kind.Along() {
		d.Member = map[jobs.SurfaceKind]string{jobs.Beam: "beam"}[s.Kind]
		if d.Member == "" {
			d.Member = "pipe"
		}
	}
	return d
}

// outward lists what exists in the order in which it is drawn, and whether that is the other way round than it is counted: a
// structure is counted from side 1, and a surface on side 1 is seen from there.
func outward(j *jobs.Job, s *jobs.Surface) (layers []acoustics.Layer, turned bool) {
	st := j.Structure(s.Structure)
	if st == nil {
		return s.Existing, false
	}
	layers = slices.Clone(st.Existing)
	if s.Side == 1 {
		slices.Reverse(layers)
		return layers, true
	}
	return layers, false
}

// place is where the existing layer n stands in the drawing.
func place(n, of int, turned bool) int {
	if turned {
		return of - n + 1
	}
	return n
}

func slabOf(l acoustics.Layer) drawing.Slab {
	slab := drawing.Slab{Name: jobs.NameOf(l), ThicknessMM: l.ThicknessMM(), Hatch: hatchOf(l)}
	switch e := l.Element.(type) {
	case acoustics.Cavity:
		if e.Fill != nil {
			slab.Fill = &drawing.Fill{ThicknessMM: e.Fill.ThicknessMM}
		}
		if f := e.Frame; f != nil {
			if f.Kind != "none" {
				slab.Frame = drawing.Frame(f.Kind)
			}
			slab.Resilient = drawing.Resilient(f.Resilient)
			slab.FrameInward = f.Side != nil && *f.Side == 1
		}
	case jobs.FillExisting:
		slab.ThicknessMM = e.Fill.ThicknessMM
	}
	return slab
}

// denseFrom is the density from which a board is drawn with the twin line of dense board, in kg/m³. Standard plasterboard
// lies near 700, acoustic and fire boards above 800.
const denseFrom = 780

var hatches = map[string]drawing.Hatch{
	"board": drawing.Board, "plaster": drawing.Plaster, "masonry": drawing.Masonry, "concrete": drawing.Concrete,
	"timber_panel": drawing.Timber, "glass": drawing.Glass, "metal": drawing.Metal, "screed": drawing.Screed,
	"membrane": drawing.Membrane, "resilient_mat": drawing.Mat, "loose_fill": drawing.LooseFill, "soft_covering": drawing.Mat,
	"fill_existing": drawing.Wool,
}

func hatchOf(l acoustics.Layer) drawing.Hatch {
	h, ok := hatches[l.Kind()]
	if !ok {
		return drawing.Air
	}
	if h == drawing.Board && l.ThicknessMM() > 0 && l.MassKgM2()/l.ThicknessMM()*1000 >= denseFrom {
		return drawing.DenseBoard
	}
	return h
}

// drawn is how the drawing calls the pictures of faults.
var drawn = map[jobs.FaultPicture]drawing.DefectKind{jobs.DrawnOpenEdge: drawing.OpenEdge, jobs.DrawnBridge: drawing.Bridge, jobs.DrawnMissingFill: drawing.MissingFill, "": drawing.Other}

// addDefects draws what checks of the layer found and nobody has put right.
func addDefects(slab *drawing.Slab, s *jobs.Surface, l *jobs.Layer) {
	for _, c := range s.ChecksOf(l.N) {
		if c.State != jobs.CheckFailed && c.State != jobs.CheckDisputed {
			continue
		}
		for _, h := range c.Heads {
			d, ok := h.What.(*jobs.CheckResult)
			if !ok || d.Result != jobs.Fail {
				continue
			}
			kind := drawn[c.Rule.Drawn]
			if area := d.Measured["area_m2"]; kind == drawing.MissingFill && area > 0 && s.NetAreaM2() > 0 {
				fill := drawing.Fill{ThicknessMM: slab.ThicknessMM}
				if slab.Fill != nil {
					fill = *slab.Fill
				}
				fill.Missing = min(1, area/s.NetAreaM2())
				slab.Fill = &fill
			}
			slab.Defects = append(slab.Defects, drawing.Defect{Kind: kind, Words: faultWords(*c.Rule, d)})
		}
	}
}

// faultWords says what was found: the check, then what was measured.
func faultWords(rule jobs.CheckRule, d *jobs.CheckResult) string {
	words := rule.Name() + ": failed"
	for _, m := range rule.Measures {
		if v, ok := d.Measured[m.Key]; ok {
			words += ", " + m.Name + " " + quantity(v, m.Range.Unit)
		}
	}
	return words
}

// roomName is what the far side is called.
func roomName(j *jobs.Job, s *jobs.Surface) string {
	if r := j.Room(s.Room); r != nil && r.Name != "" {
		return r.Name
	}
	return s.Room
}
