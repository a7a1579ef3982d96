package jobs

var _ = registerKind[SignOff]("sign_off", 2)

// SignOff is the supervisor's word that a layer, a surface or the whole job is done, together with what nobody saw.
type SignOff struct {
	Common
	AtLayer
	Name string `json:"name,omitempty" sealed:"person"` // of who signs, as it is printed
	// NotSeen is what was not seen, as it stood when it was signed: it is filled in by the program, and more may be added.
	NotSeen []string `json:"not_seen,omitempty"`
}

const maxNotSeen = 200

// Valid checks the place and the list.
func (d *SignOff) Valid() error {
	if err := d.anywhere(); err != nil {
		return err
	}
	if err := text("name", d.Name, 0, 200); err != nil {
		return err
	}
	if len(d.NotSeen) > maxNotSeen {
		return &InputError{Field: "not_seen", Value: itoa(len(d.NotSeen)), Range: "at most " + itoa(maxNotSeen) + " lines"}
	}
	for i, s := range d.NotSeen {
		if err := text("not_seen["+itoa(i)+"]", s, 1, 300); err != nil {
			return err
		}
	}
	return d.valid()
}

// Allowed is the right of those who judge, and not of those who did the work.
func (d *SignOff) Allowed(j *Job, a Author) error {
	if err := (judge{}).Allowed(j, a); err != nil {
		return err
	}
	return j.mayAccept(a, d.Surface, d.Layer)
}

// Fits refuses a place that the job does not have, to sign what a stop item still holds up, and to sign a surface or the job against a sound
// test that failed without saying why.
func (d *SignOff) Fits(j *Job) error {
	if err := d.AtLayer.Fits(j); err != nil {
		return err
	}
	for _, n := range j.NonConformances() {
		if n.Open() && n.State == NCFound && d.includes(n.On) {
			return &InputError{Field: "sign_off", Value: orMissing(place(n.On)), Hint: n.Title + " is not put right yet"}
		}
	}
	if d.Layer == 0 && d.Note == "" && len(j.FailedTestsOn(d.Surface)) > 0 {
		return &InputError{Field: "note", Value: "missing", Hint: "a sound test failed: say why it is signed off all the same"}
	}
	return nil
}

func (d *SignOff) includes(on On) bool {
	return d.Surface == "" || compareCodes(on.Surface, d.Surface) == 0 && (d.Layer == 0 || on.Layer == d.Layer)
}

// fills adds what was not seen to what is recorded, so that it stands there as it was known then.
func (d *SignOff) fills(j *Job, tree map[string]any) error {
	list, _ := tree["not_seen"].([]any)
	for _, line := range j.NotSeen(d.Surface, d.Layer) {
		if len(list) < maxNotSeen {
			list = append(list, line)
		}
	}
	if len(list) > 0 {
		tree["not_seen"] = list
	}
	return nil
}

// names points to what the word is given in view of: the lists, what was put right, the answers in force.
func (d *SignOff) names(j *Job) []Ref {
	refs := d.listRef(j)
	for _, s := range j.Surfaces {
		if d.Surface != "" && compareCodes(s.Code, d.Surface) != 0 {
			continue
		}
		refs = append(refs, j.curesOf(s, d.Layer)...)
		for _, l := range s.Layers {
			if d.Layer == 0 || d.Layer == l.N {
				refs = append(refs, refsTo(Sees, j.heads(s.of("audit", l.N), j.now()))...)
			}
		}
	}
	if n := len(j.Records); n > 0 {
		refs = append(refs, Ref{j.Records[n-1].Hash, Sees})
	}
	return refs[:min(len(refs), MaxRefs)]
}

func (d *SignOff) says(*Job, *Record) string {
	if len(d.NotSeen) == 0 {
		return "signed off"
	}
	return "signed off, with " + itoa(len(d.NotSeen)) + " not seen"
}

func (d *SignOff) apply(j *Job, r *Record) { j.put(r) }

// place says where something is: C1, layer 3.
func place(on On) string {
	s := on.Surface
	if on.Layer > 0 {
		s += ", layer " + itoa(on.Layer)
	}
	return s
}

// NotSeen lists in plain words what nobody saw: layers covered unseen, checks that could not be seen, and stop checks that
// nobody answered on work that is in place. Layer 0 is the whole surface, no surface the whole job.
func (j *Job) NotSeen(surface string, layer int) []string {
	var out []string
	for _, s := range j.Surfaces {
		if surface != "" && compareCodes(s.Code, surface) != 0 {
			continue
		}
		for _, l := range s.Layers {
			if l.CoveredUnseen && (layer == 0 || l.N == layer) {
				out = append(out, place(On{Surface: s.Code, Layer: l.N})+": covered unseen ("+l.Name()+")")
			}
		}
		for _, c := range s.Checks {
			if layer != 0 && c.Layer != layer {
				continue
			}
			where := place(On{Surface: s.Code, Layer: c.Layer}) + ": " + c.Rule.Code + " " + c.Rule.Title
			switch {
			case c.State == CheckCouldNotSee:
				out = append(out, where+": could not be seen")
			case c.State == CheckOpen && c.Rule.Stop && !c.Released && inPlace(s, c.Layer):
				out = append(out, where+": nobody answered")
			case c.State == CheckOpen && c.Released:
				out = append(out, where+": released without an answer")
			}
		}
	}
	return out
}

// inPlace tells whether a layer, or anything of a surface for layer 0, is in place.
func inPlace(s *Surface, layer int) bool {
	if l := s.Layer(layer); l != nil {
		return l.Share > 0
	}
	return started(s)
}
