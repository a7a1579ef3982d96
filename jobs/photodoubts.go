package jobs

import "slices"

// PhotoDoubt is a photo that stands for more than one thing: it may be right, somebody has to look.
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
			out = append(out, PhotoDoubt{Photo: h, Records: named[h], Says: "the same photo stands for " + joinWords(places)})
		}
	}
	return out
}
