package jobs

// The person who did the work may not accept it. Who records alone, a firm of one, has nobody else to ask, and the record
// shows that it was so.

// Doer is who did what a record tells of: the person named in it, else the id of whoever recorded it.
func (r *Record) Doer() string {
	if by := r.Common().By; by != "" {
		return by
	}
	return r.By
}

// mayAccept refuses a person who recorded work of their own at a place to accept it; layer 0 is the whole surface, no
// surface the whole job.
func (j *Job) mayAccept(a Author, surface string, layer int) error {
	for _, r := range j.Records {
		if r.Doer() == a.Person && j.isWorkAt(r, surface, layer) && j.InForce(r) && !j.alone(a) {
			return refuse("whoever did the work may not accept it: " + j.Says(r) + " is your own record; another supervisor has to look at it")
		}
	}
	return nil
}

// workedAt tells whether a person has work of their own in force at a place.
func (j *Job) workedAt(person string, on On) bool {
	for _, r := range j.Records {
		if r.Doer() == person && j.isWorkAt(r, on.Surface, on.Layer) && j.InForce(r) {
			return true
		}
	}
	return false
}

// isWorkAt tells whether a record is work at a place: something put up or put right.
func (j *Job) isWorkAt(r *Record, surface string, layer int) bool {
	on := r.On
	switch r.What.(type) {
	case *Install:
	case *PutRight:
		for _, h := range r.Refers(Over) {
			if fault := j.byHash[h]; fault != nil {
				on = fault.On
			}
		}
	default:
		return false
	}
	return surface == "" || compareCodes(on.Surface, surface) == 0 && (layer == 0 || on.Layer == layer)
}

// alone tells whether a person is the only one who ever recorded on the job, and may decide for the firm. A home that
// worked alone and joins a company issues its entries anew under the role that it is given there; they keep what they
// were allowed.
func (j *Job) alone(a Author) bool {
	if a.Role != Owner && !a.Reissued {
		return false
	}
	for _, r := range j.Records {
		if r.By != a.Person {
			return false
		}
	}
	return true
}
