package jobs

// unitsPerSet is how many like units one set of sound tests speaks for. Approved Document E: the first of each type, then
// at least one set for each ten; building control picks, and may ask for more.
const unitsPerSet = 10

// LikeGroup is a surface with those that were specified like it.
type LikeGroup struct {
	Surface  string   `json:"surface"`
	Like     []string `json:"like"`
	Differ   []string `json:"differ"` // of Like: those that are not the same any more
	TestSets int      `json:"test_sets"`
	Note     string   `json:"note"`
}

// LikeGroups lists the surfaces that others were copied from, with the number of test sets that the whole group needs at
// least.
func (j *Job) LikeGroups() []LikeGroup {
	out := []LikeGroup{}
	for _, from := range j.Surfaces {
		g := LikeGroup{Surface: from.Code, Like: []string{}, Differ: []string{}}
		for _, s := range j.Surfaces {
			like := j.Likeness(s)
			if like == nil || compareCodes(like.Surface, from.Code) != 0 {
				continue
			}
			g.Like = append(g.Like, s.Code)
			if len(like.Differences) > 0 {
				g.Differ = append(g.Differ, s.Code)
			}
		}
		if len(g.Like) == 0 {
			continue
		}
		g.TestSets = (len(g.Like) + unitsPerSet) / unitsPerSet
		g.Note = "at least, by Approved Document E: the first of each type, then one set for each ten units; what differs is a type of its own, and building control picks"
		out = append(out, g)
	}
	return out
}
