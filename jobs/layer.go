package jobs

import (
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"tacet/acoustics"
)

// Layer is one element of a surface's list with what became of it.
type Layer struct {
	N         int             // from the structure outward, 1 first
	Specified acoustics.Layer // as in the list
	Now       acoustics.Layer // as specified, or as an agreed or already fixed substitution has it

	State         LayerState
	Share         float64   // of the area that is in place, 0 to 1
	InstalledMass float64   // kg/m² where it is in place, weighted over the shares; 0 before
	Installs      []*Record // in force
	Covered       float64   // share that is covered
	CoveredUnseen bool      // some of it was covered before its stop checks had passed or were released
	CoverAt       string    // when the site means to cover it
	Open          []*Check  // stop checks that still keep it from being covered
	Weak          []*Check  // stop checks that passed on somebody's word: evidence below 3 and no supervisor's yes

	ahead         LayerState // how far it has come where nothing is in place
	disputed      string
	disputedHeads []*Record
	CoveredBy     *Record // what covered it first
	swap          *Record // the substitution in force
	called        string  // what the firm calls the specified material; empty where it is none of the firm's
}

// LayerState is where a layer stands.
type LayerState string

// The states of a layer.
const (
	Specified     LayerState = "specified"
	Delivered     LayerState = "delivered"
	PartInstalled LayerState = "part_installed"
	Installed     LayerState = "installed"
	ReadyToBeSeen LayerState = "ready"
	Accepted      LayerState = "accepted"
	CoveredLayer  LayerState = "covered"
	CoveredUnseen LayerState = "covered_unseen"
	ToPutRight    LayerState = "to_put_right"
	PutRightDone  LayerState = "put_right"
	DisputedLayer LayerState = "disputed"
	// WithdrawnLayer tells programs that something was recorded in place and taken back; people read [Layer.Standing].
	WithdrawnLayer LayerState = "withdrawn"
)

// settleMaterial works out what the layer is made of now, and how much of it is in place.
func (l *Layer) settleMaterial(j *Job, s *Surface) {
	if d := s.Detail(j, l.N); d != nil && d.MaterialVersion > 0 {
		l.called = d.Generic
	}
	subs := j.heads(s.of("substitute", l.N), j.now())
	agreed, refused := []*Record{}, []*Record{}
	for _, r := range subs {
		switch d := r.What.(*Substitute); d.State {
		case Agreed, AlreadyFixed:
			agreed = append(agreed, r)
		case Asked:
			// A permitted equal was agreed when it was specified: nobody has to answer.
			if s.permits(j, r) {
				agreed = append(agreed, r)
			}
		case Refused:
			refused = append(refused, r)
		}
	}
	if len(agreed) > 0 && len(refused) > 0 || len(agreed) > 1 && !sameFacts(agreed[0], agreed[1]) {
		// Disputed counts as refused.
		l.dispute("the substitution on layer "+itoa(l.N), append(agreed, refused...))
	} else if len(agreed) > 0 {
		l.swap = agreed[len(agreed)-1]
		l.Now = *l.swap.What.(*Substitute).LayerNew
	}

	l.Installs = nil
	for _, r := range j.heads(s.of("install", l.N), j.now()) {
		if j.installCounts(r, s) {
			l.Installs = append(l.Installs, r)
		}
	}
	var share, mass float64
	for _, r := range l.Installs {
		d := r.What.(*Install)
		share += *d.Share
		mass += *d.Share * l.fitted(r)
	}
	if share > 1+shareSlack {
		share, mass = l.overfull(j)
	}
	l.Share = min(1, share)
	if share > 0 {
		l.InstalledMass = round(mass / share)
	}
}

// installCounts tells whether an install made to another layer list still says something about this one: its layer is the
// same in both.
func (j *Job) installCounts(r *Record, s *Surface) bool {
	return j.countsFor(r, s) || j.sameLayer(r, s, r.On.Layer)
}

// sameLayer tells whether the list that r was made to has the same layer n as the one in force.
func (j *Job) sameLayer(r *Record, s *Surface, n int) bool {
	for _, h := range r.Refers(Of) {
		if list := j.byHash[h]; list != nil {
			old := list.list()
			return n <= len(old) && n <= len(s.Specified) && reflect.DeepEqual(old[n-1], s.Specified[n-1])
		}
	}
	return false
}

// fitted is the mass of what an install put up, kg/m²: as specified unless recorded otherwise. A substitution that was
// agreed only after the install says nothing of what hangs there; one that tells of what is fixed already does.
func (l *Layer) fitted(r *Record) float64 {
	if d := r.What.(*Install); d.MassKgM2 != nil {
		return *d.MassKgM2
	}
	if l.swap != nil && l.swap.pos > r.pos && l.swap.What.(*Substitute).State != AlreadyFixed {
		return l.Specified.MassKgM2()
	}
	return l.Now.MassKgM2()
}

// overfull settles records that together make more than the whole layer. Two people who recorded the same facts without
// knowing of each other are two witnesses of one install. Anything else is disputed, and the smaller mass counts.
func (l *Layer) overfull(j *Job) (share, mass float64) {
	var distinct []*Record
	for _, r := range l.Installs {
		twin := slices.ContainsFunc(distinct, func(d *Record) bool { return !j.sawEachOther(d, r) && sameFacts(d, r) })
		if !twin {
			distinct = append(distinct, r)
		}
	}
	least := 0.0
	for i, r := range distinct {
		d := r.What.(*Install)
		share += *d.Share
		mass += *d.Share * l.fitted(r)
		if m := l.fitted(r); i == 0 || m < least {
			least = m
		}
	}
	if share <= 1+shareSlack {
		return share, mass
	}
	l.dispute("how much of layer "+itoa(l.N)+" is in place, and of what", l.Installs)
	return 1, least
}

func (l *Layer) dispute(about string, heads []*Record) {
	l.disputed = about
	l.disputedHeads = append(l.disputedHeads, heads...)
	slices.SortFunc(l.disputedHeads, func(a, b *Record) int { return a.pos - b.pos })
}

// settleCover works out how much of the layer is covered, and whether it was seen before.
func (l *Layer) settleCover(j *Job, s *Surface) {
	covers := j.heads(s.of("cover", l.N), j.now())
	if len(covers) > 0 {
		l.Covered = 1
	}
	next := s.Layer(l.N + 1)
	if next != nil {
		l.Covered = max(l.Covered, next.Share)
		covers = append(covers, next.Installs...)
	}
	for _, c := range covers {
		if l.CoveredBy == nil || c.pos < l.CoveredBy.pos {
			l.CoveredBy = c
		}
		if !j.stopsMet(s, l.N, c) {
			l.CoveredUnseen = true
		}
	}
	for _, c := range s.ChecksOf(l.N) {
		if c.Rule.Stop && !c.met(j, s) {
			l.Open = append(l.Open, c)
		}
	}
}

// stopsMet tells whether every stop check of the layer had passed or was released when by covered it. What was answered then
// counts, for the list of layers that by was made to: a list that came later takes nothing back, where the layer is the same.
func (j *Job) stopsMet(s *Surface, layer int, by *Record) bool {
	lists := s.inForce()
	if j.sameLayer(by, s, layer) {
		lists = by.Refers(Of)
	}
	for _, c := range s.ChecksOf(layer) {
		if c.Rule.Stop && !c.wasMet(j, s, lists, by.pos) {
			return false
		}
	}
	return true
}

func (l *Layer) settleState(j *Job, s *Surface) {
	cured, toCure := 0, 0
	lastCure := -1
	count := func(r *Record) {
		if c := j.CuredBy(r); c != nil {
			cured++
			lastCure = max(lastCure, c.pos)
		} else {
			toCure++
		}
	}
	for _, c := range s.ChecksOf(l.N) {
		for _, h := range c.Heads {
			if findsFault(h) {
				count(h)
			}
		}
	}
	audits := j.heads(s.of("audit", l.N), j.now())
	accepted := -1
	for _, r := range audits {
		switch {
		case findsFault(r):
			count(r)
		case r.What.(*Audit).Answer == AnswerCover:
			accepted = r.pos
		}
	}
	for _, r := range j.heads(s.of("sign_off", l.N), j.now()) {
		accepted = max(accepted, r.pos)
	}
	if accepted < 0 {
		for _, c := range s.ChecksOf(l.N) {
			if c.weak() {
				l.Weak = append(l.Weak, c)
			}
		}
	}
	ready := j.heads(s.of("ready", l.N), j.now())
	if len(ready) > 0 {
		l.CoverAt = ready[len(ready)-1].What.(*Ready).CoverAt
	}
	l.ahead = Specified
	if len(j.heads(s.of("deliver", l.N), j.now())) > 0 {
		l.ahead = Delivered
	}
	covered := l.Covered > 0 && l.Share > 0 && l.Covered >= l.Share-shareSlack
	switch {
	case l.disputed != "":
		l.State = DisputedLayer
	case l.Share == 0 && len(s.of("install", l.N)) > 0:
		l.State = WithdrawnLayer
	case toCure > 0:
		l.State = ToPutRight
	case cured > 0 && (l.CoveredBy == nil || lastCure > l.CoveredBy.pos) && accepted < lastCure:
		l.State = PutRightDone
	case l.Share > 0 && l.CoveredUnseen && l.Covered > 0:
		l.State = CoveredUnseen
	case covered:
		l.State = CoveredLayer
	case accepted >= 0:
		l.State = Accepted
	case len(ready) > 0 && l.Share > 0:
		l.State = ReadyToBeSeen
	case l.Whole():
		l.State = Installed
	case l.Share > 0:
		l.State = PartInstalled
	default:
		l.State = l.ahead
	}
}

// Standing is where the layer stands for whoever looks at it: where a record was taken back nothing stands, and it is specified, or
// delivered.
func (l *Layer) Standing() LayerState {
	if l.State == WithdrawnLayer {
		return l.ahead
	}
	return l.State
}

// CuredBy returns the record that tells that the fault r found was put right, nil while it was not.
func (j *Job) CuredBy(r *Record) *Record {
	for _, c := range j.namedBy[r.Hash] {
		if c.Kind == "put_right" && c.names(r.Hash, Over) && j.InForce(c) {
			return c
		}
	}
	return nil
}

// Whole tells whether all of the layer is in place.
func (l *Layer) Whole() bool { return l.Share >= 1-shareSlack }

// SpecifiedMass is the mass of the layer as specified, kg/m².
func (l *Layer) SpecifiedMass() float64 { return round(l.Specified.MassKgM2()) }

// Carries is the load of the layer, kg/m²: what is fitted where it is in place, what is specified where it is not yet.
func (l *Layer) Carries() float64 { return l.InstalledMass*l.Share + l.Now.MassKgM2()*(1-l.Share) }

// SpecifiedMass is the mass of all that is specified to be added, kg/m².
func (s *Surface) SpecifiedMass() float64 {
	var m float64
	for _, l := range s.Layers {
		m += l.Specified.MassKgM2()
	}
	return round(m)
}

// InstalledMass is the mass achieved: the sum over the layers of mass times share, kg/m².
func (s *Surface) InstalledMass() float64 {
	var m float64
	for _, l := range s.Layers {
		m += l.InstalledMass * l.Share
	}
	return round(m)
}

// ThicknessMM is the thickness of all that is added, in mm: as fitted where it is in place, as specified elsewhere.
func (s *Surface) ThicknessMM() float64 {
	var t float64
	for _, l := range s.Layers {
		t += l.thickness()
	}
	return round(t)
}

// FittedMM is the thickness of the layer, in mm: as fitted where that was recorded, else of what takes its place now.
func (l *Layer) FittedMM() float64 { return l.thickness() }

func (l *Layer) thickness() float64 {
	t := l.Now.ThicknessMM()
	for i, r := range l.Installs {
		if f := r.What.(*Install).ThicknessMM; f != nil && (i == 0 || *f > t) {
			t = *f
		}
	}
	return t
}

// round takes off what binary arithmetic adds to decimal input.
func round(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', 9, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// trim writes a number as short as it is.
func trim(v float64) string {
	s := strconv.FormatFloat(v, 'f', 6, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// percent writes a share to the tenth where it has one, as the pages do.
func percent(share float64) string { return trim(math.Round(share*1000)/10) + " %" }
