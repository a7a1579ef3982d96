package jobs

import "slices"

var _ = registerKind[Erasure]("erasure", 1)

// Erasure says that the keys of some records were thrown away, or some photos: what is sealed in those can be read nowhere any more, and
// these can be seen nowhere. It stands in the record like everything else, so it reaches every device, and it comes back first where an
// old backup was put in place.
type Erasure struct {
	Common
	Of       []string `json:"of,omitempty" ref:"of"` // the records whose words are erased
	OfPhotos []string `json:"of_photos,omitempty"`   // the photos, by hash, that are erased in this job
	Reason   string   `json:"reason"`
}

// ErasureReasons lists why words are erased.
func ErasureReasons() []Word {
	return []Word{{"asked", "the person asked for it"}, {"time", "the time for which they are kept is over"}, {"mistake", "they should not have been written down"}}
}

// PhotoErasureReasons lists why photos are erased.
func PhotoErasureReasons() []Word {
	return []Word{{"asked", "the person asked for it"}, {"shows", "it shows a person or a home"}, {"time", "the time for which it is kept is over"}, {"mistake", "it should not have been taken"}}
}

// Valid wants a reason, and hashes where photos are named.
func (d *Erasure) Valid() error {
	words := ErasureReasons()
	if len(d.OfPhotos) > 0 {
		words = PhotoErasureReasons()
	}
	if err := choice("reason", d.Reason, codesIn(words)...); err != nil {
		return err
	}
	if len(d.OfPhotos) > MaxBlobs {
		return &InputError{Field: "of_photos", Value: itoa(len(d.OfPhotos)), Range: "at most " + itoa(MaxBlobs), Unit: "photos"}
	}
	for i, p := range d.OfPhotos {
		if h, err := ParseHash(p); err != nil || h.IsZero() {
			return &InputError{Field: "of_photos[" + itoa(i) + "]", Value: p, Hint: "name a photo by its hash"}
		}
	}
	return d.valid()
}

// Allowed is the right of the owner and of the office, who answer for the firm.
func (d *Erasure) Allowed(_ *Job, a Author) error {
	if a.Role != Owner && a.Role != Office {
		return refuse("what people said, and photos, are erased by the owner or the office")
	}
	return nil
}

// Fits wants records with something sealed in them, or photos of this job.
func (d *Erasure) Fits(j *Job) error {
	if len(d.Of)+len(d.OfPhotos) == 0 || len(d.Of) > MaxRefs {
		return &InputError{Field: "of", Value: itoa(len(d.Of)), Range: "1 to " + itoa(MaxRefs), Unit: "records"}
	}
	for i, id := range d.Of {
		if r := j.byID[id]; r == nil || !r.Sealed() {
			return &InputError{Field: "of[" + itoa(i) + "]", Value: id, Hint: "name a record of this job in which words of a person are sealed"}
		}
	}
	for i, p := range d.OfPhotos {
		h, err := ParseHash(p)
		if err != nil || !j.namesPhoto(h) {
			return &InputError{Field: "of_photos[" + itoa(i) + "]", Value: p, Hint: "name a photo that a record of this job names"}
		}
	}
	return nil
}

func (d *Erasure) apply(j *Job, r *Record) { j.put(r) }

func (d *Erasure) says(*Job, *Record) string {
	if len(d.OfPhotos) == 0 {
		return "words of people erased: " + saysIn(ErasureReasons(), d.Reason)
	}
	what := Count(len(d.OfPhotos), "photo")
	if len(d.Of) > 0 {
		what += " and words of people"
	}
	return what + " erased: " + saysIn(PhotoErasureReasons(), d.Reason)
}

func (j *Job) namesPhoto(h Hash) bool {
	return slices.ContainsFunc(j.Records, func(r *Record) bool { return slices.Contains(r.Blobs, h) })
}

// PhotoErased gives the record that says that a photo was erased in this job, and why in words; nil where none says so.
func (j *Job) PhotoErased(h Hash) (r *Record, why string) {
	for _, r := range j.kinds["erasure"] {
		d, ok := r.What.(*Erasure)
		if ok && slices.Contains(d.OfPhotos, h.String()) {
			return r, saysIn(PhotoErasureReasons(), d.Reason)
		}
	}
	return nil, ""
}

// Erases lists the records whose keys an entry throws away.
func (e Entry) Erases() []Hash {
	if e.Kind != "erasure" || e.Newer() {
		return nil
	}
	return e.Refers(Of)
}

// ErasesPhotos lists the photos of its job that an entry erases.
func (e Entry) ErasesPhotos() []Hash {
	if e.Kind != "erasure" || e.Newer() || e.Data == nil {
		return nil
	}
	what, err := open(e)
	d, ok := what.(*Erasure)
	if err != nil || !ok {
		return nil
	}
	var list []Hash
	for _, p := range d.OfPhotos {
		if h, err := ParseHash(p); err == nil {
			list = append(list, h)
		}
	}
	return list
}
