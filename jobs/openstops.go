package jobs

// StopsOf are stop checks of one layer, or of the whole surface for layer 0.
type StopsOf struct {
	Layer  int
	Checks []*Check
}

// OpenStops lists the stop checks of a surface that are neither passed nor released, those of the whole surface first, then those of each
// layer that stands: what is not there yet can't be looked at. One that was found wrong is no open check: it is a non-conformance until
// somebody has accepted that it was put right.
func (j *Job) OpenStops(s *Surface) []StopsOf {
	wrong := map[On]bool{}
	for _, n := range j.NonConformances() {
		if n.Open() {
			wrong[n.On] = true
		}
	}
	var list []StopsOf
	for _, c := range s.Checks {
		if !c.Rule.Stop || !inPlace(s, c.Layer) || c.met(j, s) || wrong[On{Surface: s.Code, Layer: c.Layer, Check: c.Rule.Code}] {
			continue
		}
		if n := len(list); n == 0 || list[n-1].Layer != c.Layer {
			list = append(list, StopsOf{Layer: c.Layer})
		}
		last := &list[len(list)-1]
		last.Checks = append(last.Checks, c)
	}
	return list
}
