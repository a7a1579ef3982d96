package jobs

import "slices"

// A device that was restored or copied issues again, under a new id, what it can't tell to have arrived. The entry then
// says in "was" which one it repeats. Where the original stands it counts and the repetition does not; of several
// repetitions of an original that never came, the first in clock order counts. What names a repetition means what it
// repeats.

// repeats finds the entries that only say again what another says, and which that is.
func (j *Job) repeats() map[Hash]Hash {
	stands := map[Hash]Hash{}
	for was, list := range j.again {
		first := was
		if j.byHash[was] == nil {
			first = slices.MinFunc(list, func(a, b *Record) int { return a.before(&b.Envelope) }).Hash
		}
		for _, r := range list {
			if r.Hash != first {
				stands[r.Hash] = first
			}
		}
	}
	for h, first := range stands {
		for next, more := stands[first]; more; next, more = stands[first] {
			first = next
		}
		stands[h] = first
	}
	return stands
}

// repeated tells whether taking r makes an entry repeat another.
func (j *Job) repeated(r *Record) bool {
	if len(j.again[r.Hash]) > 0 {
		return true
	}
	return !r.Was.IsZero() && (j.byHash[r.Was] != nil || len(j.again[r.Was]) > 1)
}

// resolve makes all references mean the entries that count.
func (j *Job) resolve() {
	stands := j.repeats()
	if j.repeat = stands; len(stands) == 0 {
		return
	}
	for h, r := range j.byHash {
		if e, changed := j.written[h]; changed {
			r.Entry = e
		}
		if slices.ContainsFunc(r.Refs, func(ref Ref) bool { return !stands[ref.H].IsZero() }) {
			if j.written == nil {
				j.written = map[Hash]*Entry{}
			}
			j.written[h] = r.Entry
			e := *r.Entry
			e.Refs = slices.Clone(e.Refs)
			for i, ref := range e.Refs {
				if first, ok := stands[ref.H]; ok {
					e.Refs[i].H = first
				}
			}
			r.Entry = &e
		}
		j.byID[r.ID] = r
	}
	for h, first := range stands {
		j.byID[j.byHash[h].ID] = j.byHash[first]
	}
}
