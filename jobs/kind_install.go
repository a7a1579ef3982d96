package jobs

import "fmt"

var _ = registerKind[Install]("install", 1)

// Install records that a share of a layer is in place, with what was fitted where that is not what was specified.
type Install struct {
	Common
	AtLayer
	anyone
	Share       *float64 `json:"share"`
	MassKgM2    *float64 `json:"mass_kg_m2,omitempty"`
	ThicknessMM *float64 `json:"thickness_mm,omitempty"`
	Material    string   `json:"material,omitempty"`
}

// Valid checks the share and what was fitted.
func (d *Install) Valid() error {
	if err := d.onLayer(); err != nil {
		return err
	}
	if err := needed(ShareRange, "share", d.Share); err != nil {
		return err
	}
	if err := optional(MassRange, "mass_kg_m2", d.MassKgM2); err != nil {
		return err
	}
	if err := optional(DepthRange, "thickness_mm", d.ThicknessMM); err != nil {
		return err
	}
	if err := text("material", d.Material, 0, 200); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses more than the whole layer: whoever records here knows what is recorded already. Two devices that did not
// know of each other may make more than the whole; that is a dispute, and shown.
func (d *Install) Fits(j *Job) error {
	if err := d.AtLayer.Fits(j); err != nil {
		return err
	}
	l := j.Surface(d.Surface).Layer(d.Layer)
	left := 1 - l.Share
	for _, r := range l.Installs {
		if d.Over == r.ID {
			left += *r.What.(*Install).Share
		}
	}
	if *d.Share > left+shareSlack {
		return &InputError{Field: "share", Value: trim(*d.Share), Range: "at most " + trim(max(0, left)),
			Hint: fmt.Sprintf("%s of layer %d is recorded already; name the entry that this one supersedes with over", percent(l.Share), d.Layer)}
	}
	return nil
}

// names points to the list that the layer number counts in, and to what was known of the layer underneath as it was
// covered: that decides whether it was covered seen or unseen, whatever the clocks say.
func (d *Install) names(j *Job) []Ref {
	return append(d.listRef(j), j.knownOf(d.Surface, d.Layer-1)...)
}

func (d *Install) apply(j *Job, r *Record) { j.put(r) }

func (d *Install) says(*Job, *Record) string {
	says := percent(*d.Share) + " in place"
	if d.MassKgM2 != nil {
		says += ", " + trim(*d.MassKgM2) + " kg/m²"
	}
	if d.Material != "" {
		says += ", " + d.Material
	}
	return says
}

// knownOf names what is in force on a layer about to be covered: its stop checks and releases.
func (j *Job) knownOf(surface string, layer int) []Ref {
	s := j.Surface(surface)
	if s == nil || s.Layer(layer) == nil {
		return nil
	}
	var refs []Ref
	for _, c := range s.ChecksOf(layer) {
		if c.Rule.Stop {
			refs = append(refs, refsTo(Sees, c.Heads)...)
		}
	}
	refs = append(refs, refsTo(Sees, j.heads(s.of("release", layer), j.now()))...)
	return refs[:min(len(refs), MaxRefs/2)]
}

// shareSlack forgives what adding decimal shares in binary leaves over.
const shareSlack = 1e-9
