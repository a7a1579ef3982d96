package jobs

import (
	"cmp"
	"reflect"
	"slices"
)

// settle derives the state from what is filed: of the surface that on names, or of everything.
func (j *Job) settle(on On) {
	j.settleHead()
	// Surfaces on one structure carry one load, so those beside a changed one are warned anew.
	beside := map[string]bool{}
	for _, s := range j.Surfaces {
		if on.Surface == "" || compareCodes(s.Code, on.Surface) == 0 {
			beside[s.Structure] = true
			s.settle(j)
			beside[s.Structure] = true
		}
	}
	delete(beside, "")
	for _, s := range j.Surfaces {
		if on.Surface == "" || compareCodes(s.Code, on.Surface) == 0 || beside[s.Structure] {
			s.Warnings = s.warnings(j)
		}
	}
	j.Warnings = j.jobWarnings()
	j.gatherDisputes()
}

func (j *Job) settleHead() {
	if r := j.shown(j.about); r != nil {
		d := r.What.(*Describe)
		j.Name, j.Site, j.Targets = d.Name, d.Site, d.Targets
	}
	for _, room := range j.Rooms {
		if r := j.shown(room.records); r != nil {
			d := r.What.(*DescribeRoom)
			room.Name, room.VolumeM3, room.Facts = d.Name, value(d.VolumeM3), d.RoomFacts
			if room.VolumeM3 == 0 {
				room.VolumeM3 = d.measuredVolume()
			}
		}
	}
	for _, st := range j.Structures {
		if r := j.shown(st.records); r != nil {
			d := r.What.(*DescribeStructure)
			st.Name, st.Existing, st.LoadLimit = d.Name, d.Existing, d.LoadLimit
		}
	}
	slices.SortFunc(j.Rooms, func(a, b *Room) int { return compareCodes(a.Code, b.Code) })
	slices.SortFunc(j.Structures, func(a, b *Structure) int { return compareCodes(a.Code, b.Code) })
}

// provisional is the description shown: the last in order of those in force. Where there are several that differ, they
// are disputed, and all are shown.
func (j *Job) provisional(list []*Record) *Record {
	hs := j.heads(list, j.now())
	if len(hs) == 0 {
		return nil
	}
	return hs[len(hs)-1]
}

// shown is the description that is shown: the provisional one, and where all were withdrawn the last that was given, so
// that what is worked on stays visible.
func (j *Job) shown(list []*Record) *Record {
	if r := j.provisional(list); r != nil || len(list) == 0 {
		return r
	}
	return slices.MaxFunc(list, func(a, b *Record) int { return cmp.Compare(a.pos, b.pos) })
}

func (s *Surface) settle(j *Job) {
	if r := j.shown(s.records); r != nil {
		code := s.Code
		s.SurfaceFacts = r.What.(*DescribeSurface).SurfaceFacts
		s.Code = code
	}
	s.Specified, s.List = nil, nil
	if r := j.provisional(s.lists); r != nil {
		s.Specified, s.List = r.list(), r
	}
	s.Layers = make([]*Layer, len(s.Specified))
	for i := range s.Specified {
		s.Layers[i] = &Layer{N: i + 1, Specified: s.Specified[i], Now: s.Specified[i]}
	}
	s.settleChecks(j)
	s.ways = j.flankingList(s, s.ways[:0])
	for _, l := range s.Layers {
		l.settleMaterial(j, s)
	}
	for _, l := range s.Layers {
		l.settleCover(j, s)
		l.settleState(j, s)
	}
}

// gatherDisputes lists all on which records in force do not agree, job first, then by surface, layer and check.
func (j *Job) gatherDisputes() {
	j.Disputes = nil
	add := func(on On, about string, heads []*Record) {
		j.Disputes = append(j.Disputes, Dispute{On: on, About: about, Heads: heads})
	}
	if hs, differ := j.differing(j.about); differ {
		add(On{}, "the description of the job", hs)
	}
	for _, r := range j.Rooms {
		if hs, differ := j.differing(r.records); differ {
			add(On{Room: r.Code}, "the description of room "+r.Code, hs)
		}
	}
	for _, st := range j.Structures {
		if hs, differ := j.differing(st.records); differ {
			add(On{Structure: st.Code}, "the description of structure "+st.Code, hs)
		}
	}
	for _, s := range j.Surfaces {
		if hs, differ := j.differing(s.records); differ {
			add(On{Surface: s.Code}, "the description of surface "+s.Code, hs)
		}
		if hs, differ := j.differing(s.lists); differ {
			add(On{Surface: s.Code}, "the layer list of surface "+s.Code, hs)
		}
		for _, c := range s.Checks {
			if c.State == CheckDisputed {
				add(On{Surface: s.Code, Layer: c.Layer, Check: c.Rule.Code}, c.Rule.Code+" "+c.Rule.Title, c.Heads)
			}
		}
		for _, it := range s.ways {
			if it.State == FlankDisputed {
				add(On{Surface: s.Code}, "the decision on flanking by the "+it.Name, j.heads(s.decisionsOn(it.Path), j.now()))
			}
		}
		for _, l := range s.Layers {
			if hs, differ := j.differing(s.detailRecords(j, l.N)); differ {
				add(On{Surface: s.Code, Layer: l.N}, "the details of layer "+itoa(l.N), hs)
			}
			if l.disputed != "" {
				add(On{Surface: s.Code, Layer: l.N}, l.disputed, l.disputedHeads)
			}
		}
	}
	slices.SortStableFunc(j.Disputes, func(a, b Dispute) int {
		return cmp.Or(compareCodes(a.On.Surface, b.On.Surface), cmp.Compare(a.On.Layer, b.On.Layer), cmp.Compare(a.On.Check, b.On.Check))
	})
}

// differing returns the descriptions in force and whether they say different things.
func (j *Job) differing(list []*Record) ([]*Record, bool) {
	hs := j.heads(list, j.now())
	for _, h := range hs[min(1, len(hs)):] {
		if !sameFacts(h, hs[0]) {
			return hs, true
		}
	}
	return hs, false
}

// sameFacts tells whether two records of one kind say the same, who recorded them, when and with which photos aside.
func sameFacts(a, b *Record) bool {
	x, errX := edgeTree(*a.Entry)
	y, errY := edgeTree(*b.Entry)
	if errX != nil || errY != nil {
		return false
	}
	for _, key := range []string{"note", "at", "by", "from_paper", "photos", "do", "reason", "evidence"} {
		delete(x, key)
		delete(y, key)
	}
	return reflect.DeepEqual(x, y)
}
