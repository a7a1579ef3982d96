package jobs

var _ = registerKind[Erasure]("erasure", 1)

// Erasure says that the keys of some records were thrown away: what is sealed in them can be read nowhere any more. It
// stands in the record like everything else, so it reaches every device, and it comes back first where an old backup was
// put in place.
type Erasure struct {
	Common
	Of     []string `json:"of" ref:"of"` // the records whose words are erased
	Reason string   `json:"reason"`
}

// ErasureReasons lists why words are erased.
func ErasureReasons() []Word {
	return []Word{{"asked", "the person asked for it"}, {"time", "the time for which they are kept is over"}, {"mistake", "they should not have been written down"}}
}

// Valid wants the records and a reason.
func (d *Erasure) Valid() error {
	if err := choice("reason", d.Reason, codesIn(ErasureReasons())...); err != nil {
		return err
	}
	return d.valid()
}

// Allowed is the right of the owner and of the office, who answer for the firm.
func (d *Erasure) Allowed(_ *Job, a Author) error {
	if a.Role != Owner && a.Role != Office {
		return refuse("what people said is erased by the owner or the office")
	}
	return nil
}

// Fits wants records with something sealed in them.
func (d *Erasure) Fits(j *Job) error {
	if len(d.Of) == 0 || len(d.Of) > MaxRefs {
		return &InputError{Field: "of", Value: itoa(len(d.Of)), Range: "1 to " + itoa(MaxRefs), Unit: "records"}
	}
	for i, id := range d.Of {
		if r := j.byID[id]; r == nil || !r.Sealed() {
			return &InputError{Field: "of[" + itoa(i) + "]", Value: id, Hint: "name a record of this job in which words of a person are sealed"}
		}
	}
	return nil
}

func (d *Erasure) apply(j *Job, r *Record) { j.put(r) }

func (d *Erasure) says() string {
	return "words of people erased: " + saysIn(ErasureReasons(), d.Reason)
}

// Erases lists the records whose keys an entry throws away.
func (e Entry) Erases() []Hash {
	if e.Kind != "erasure" || e.Newer() {
		return nil
	}
	return e.Refers(Of)
}
