package jobs

import (
	"slices"
	"time"
)

// PhotoDoubt is a photo that stands for more than one thing, or is older than what it shows: it may be right, somebody has to look.
type PhotoDoubt struct {
	Photo   Hash
	Records []*Record // in force, in fold order
	Says    string
}

// PhotoDoubts lists photos that records name for different places or checks. The same picture taken in twice has the same
// hash; a picture of a picture has not, and is not found.
func (j *Job) PhotoDoubts() []PhotoDoubt {
	var order []Hash
	named := map[Hash][]*Record{}
	for _, r := range j.Records {
		if !j.InForce(r) {
			continue
		}
		for _, h := range r.Blobs {
			if named[h] == nil {
				order = append(order, h)
			}
			named[h] = append(named[h], r)
		}
	}
	var out []PhotoDoubt
	for _, h := range order {
		var places []string
		for _, r := range named[h] {
			if r.On.Surface == "" {
				continue // of the job as a whole: no claim about a place
			}
			p := place(r.On)
			if r.On.Check != "" {
				p += ", " + r.On.Check
			}
			if !slices.Contains(places, p) {
				places = append(places, p)
			}
		}
		if len(places) > 1 {
			out = append(out, PhotoDoubt{Photo: h, Records: named[h], Says: "the same photo stands for " + JoinWords(places)})
		}
	}
	return append(out, j.oldPhotos()...)
}

// photoSlack is how much earlier than its layer's first record a photo may be: the work of a day is often recorded at its end. Our own figure.
const photoSlack = 12 * time.Hour

// oldPhotos lists photos of a layer that were taken before it can have been there, by the camera's clock.
func (j *Job) oldPhotos() []PhotoDoubt {
	var out []PhotoDoubt
	for _, s := range j.Surfaces {
		for _, l := range s.Layers {
			first := time.Time{}
			for _, r := range s.of("install", l.N) {
				if j.InForce(r) && (first.IsZero() || r.DoneAt().Before(first)) {
					first = r.DoneAt()
				}
			}
			if first.IsZero() {
				continue
			}
			for _, r := range s.work {
				if r.On.Layer != l.N || r.Kind == "deliver" || !j.InForce(r) {
					continue // what was delivered was there before it was fixed
				}
				for i, text := range r.Common().Taken {
					at, err := time.Parse(time.RFC3339, text)
					if err == nil && i < len(r.Blobs) && at.Before(first.Add(-photoSlack)) {
						out = append(out, PhotoDoubt{Photo: r.Blobs[i], Records: []*Record{r}, Says: "a photo of " + place(r.On) + " was taken at " + at.UTC().Format(time.RFC3339) + ", more than 12 h before the layer was first recorded in place"})
					}
				}
			}
		}
	}
	return out
}
