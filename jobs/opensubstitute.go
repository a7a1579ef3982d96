package jobs

// OpenSubstitute is the substitution of a layer that waits for an answer: one that was asked for and is no permitted equal, or that is fixed
// already and nobody has agreed to or refused; nil where none does.
func (j *Job) OpenSubstitute(s *Surface, layer int) *Record {
	hs := j.heads(s.of("substitute", layer), j.now())
	for i := len(hs) - 1; i >= 0; i-- {
		switch d := hs[i].What.(*Substitute); d.State {
		case Asked, AlreadyFixed:
			if s.permits(j, hs[i]) {
				return nil
			}
			return hs[i]
		case Agreed, Refused:
			return nil
		}
	}
	return nil
}
