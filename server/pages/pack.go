package pages

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/paper"
)

// PackOptions is what a handover pack shows beside the job.
type PackOptions struct {
	Firm    string
	Contact string         // who to call: a name and a number
	Host    string         // https://office.example.org, for the code; "" prints a bare one
	Printed time.Time      // now
	Zone    *time.Location // in which times are shown; nil: UTC
	Names   map[string]string
	// Photo gives the picture of a hash, nil where it is not here yet.
	Photo func(jobs.Hash) []byte
}

// maxPackPhotos bounds the photos of one surface; the dispute file holds them all.
const maxPackPhotos = 24

// Pack turns a job into its handover pack.
func Pack(j *jobs.Job, opt PackOptions) paper.Pack {
	if opt.Zone == nil {
		opt.Zone = time.UTC
	}
	p := packer{job: j, opt: opt}
	code := ""
	if len(j.Surfaces) > 0 {
		code = jobs.SheetCode(j.ID, j.Surfaces[0].Code) // opens the record; it holds nothing else
	}
	pack := paper.Pack{Firm: opt.Firm, Contact: opt.Contact, Job: j.Name, Site: j.Site, Printed: opt.Printed.In(opt.Zone), Version: jobs.Count(len(j.Records), "record"),
		Code: formatted(code), To: p.client(), Open: p.stillOpen(), Letter: p.letter(), Substitutions: p.substitutions(), Corrected: p.corrected(), NotSeen: p.notSeen(),
		Fixing: p.fixing(), Certificates: p.certificates(), Finish: p.finish(), Care: p.care(), Cautions: p.cautions(), Declined: p.declined(), FollowUps: p.followUps(),
		Privacy: "We keep this record, its photos and your answers for as long as a claim about the work may be made, which for work on a home may be fifteen years, and use them for nothing else. " +
			"Ask us to see them, to correct them, or to have what is about you erased."}
	if opt.Host != "" && code != "" {
		pack.URL = paper.Payload(opt.Host, code)
	}
	if n := j.CoveredUnseen(); n > 0 {
		pack.Unseen = capital(jobs.Count(n, "layer")) + " covered before anybody who has to had seen " + map[bool]string{true: "it", false: "them"}[n == 1] + ". The predictions are less certain for it, and say so."
	}
	for _, s := range j.Surfaces {
		pack.Surfaces = append(pack.Surfaces, p.surface(s))
	}
	for _, v := range j.TestVerdicts() {
		pack.Tests = append(pack.Tests, p.test(v))
	}
	return pack
}

func formatted(code string) string {
	if code == "" {
		return ""
	}
	return jobs.FormatSheetCode(code)
}

type packer struct {
	job *jobs.Job
	opt PackOptions
}

func (p packer) name(r *jobs.Record) string {
	who := r.Doer()
	if n := p.opt.Names[who]; n != "" {
		return n
	}
	if who == r.By {
		return ""
	}
	return who
}

func (p packer) date(t time.Time) string { return t.In(p.opt.Zone).Format("2 January 2006") }

// client is whom the pack is for, where the record says so.
func (p packer) client() string {
	if e := p.job.Enquiry(); e != nil {
		return e.Name
	}
	return ""
}

// letter says in plain words what was done, what to expect and what it will not do.
func (p packer) letter() []string {
	var done []string
	for _, s := range p.job.Surfaces {
		if slices.ContainsFunc(s.Layers, func(l *jobs.Layer) bool { return l.Share > 0 }) {
			words := "the " + spaced(s.Kind)
			if room := nameOfRoom(p.job, s); room != "" {
				words += " in the " + room
			}
			done = append(done, words+" ("+s.Code+")")
		}
	}
	letter := []string{"This pack belongs to the work on your sound insulation. Keep it with the papers of the house, and give it to whoever works on these surfaces later."}
	if len(done) > 0 {
		letter = append(letter, "What was done: we worked on "+listed(done)+". The sheets that follow show each layer as it was built, from the structure outward, with its weight, and photos of what is hidden now.")
	}
	expect := "What to expect: you will hear less through these surfaces, not nothing."
	if e := p.job.Enquiry(); e != nil && e.Words != "" {
		expect += " You told us at the beginning: “" + strings.TrimSpace(e.Words) + "”. We will ask you the same questions again."
	}
	letter = append(letter, expect)
	if len(p.job.Targets) > 0 {
		var targets []string
		for _, t := range p.job.Targets {
			words := targetWords(t)
			if t.Source != "" {
				words += " (" + t.Source + ")"
			}
			targets = append(targets, words)
		}
		letter = append(letter, "The work was meant to reach "+listed(targets)+". What was measured stands under Sound tests, beside what had been predicted. A prediction is an estimate with an uncertainty, and a laboratory figure is not a figure of your home.")
	}
	return append(letter, "What it will not do: it does not bring silence, it does not stop sound that goes round these surfaces, and it does little against low bass through a light structure. "+
		"This pack says nothing about fire, structure, electrics or asbestos beyond what others have put on record; those questions are for licensed people and the local rules.")
}

// listed reads a list out: one, two and three.
func listed(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

func (p packer) surface(s *jobs.Surface) paper.PackSurface {
	j := p.job
	out := paper.PackSurface{Surface: s.Code, Name: surfaceName(j, s), Kind: spaced(s.Kind), Size: sizeOf(s), Section: Section(j, s),
		SpecifiedKgM2: s.SpecifiedMass(), AchievedKgM2: s.InstalledMass(), ThicknessMM: s.ThicknessMM(), LoadKNM2: j.AddedLoad(s), Photos: p.photos(s)}
	for _, l := range s.Layers {
		line := paper.PackLayer{N: l.N, Specified: capital(jobs.NameOf(l.Specified)), SpecifiedKgM2: l.SpecifiedMass(), SpecifiedMM: l.Specified.ThicknessMM(),
			AchievedKgM2: l.InstalledMass, Share: l.Share, State: spaced(l.State), Unseen: l.CoveredUnseen}
		if l.Share > 0 {
			line.Installed, line.AchievedMM = installedWords(l), l.FittedMM()
		}
		out.Layers = append(out.Layers, line)
	}
	f := j.PredictSurface(s)
	out.Says = append(out.Says, "Predicted: "+forecastSentence("As specified", f.Specified))
	for _, basis := range []struct {
		name string
		f    jobs.Forecast
	}{{"As installed", f.Installed}, {"As found", f.AsFound}} {
		if known(basis.f) {
			out.Says = append(out.Says, "Predicted: "+forecastSentence(basis.name, basis.f))
		}
	}
	return out
}

// installedWords says what was put up: what was recorded, else what was specified or agreed.
func installedWords(l *jobs.Layer) string {
	var materials []string
	for _, r := range l.Installs {
		if m := r.What.(*jobs.Install).Material; m != "" && !slices.Contains(materials, m) {
			materials = append(materials, m)
		}
	}
	if len(materials) > 0 {
		return capital(listed(materials))
	}
	return capital(jobs.NameOf(l.Now))
}

// photos are those of the surface in the order of its layers.
func (p packer) photos(s *jobs.Surface) []paper.PackPhoto {
	type shot struct {
		layer   int
		hash    jobs.Hash
		caption string
	}
	var shots []shot
	for _, r := range s.Work() {
		if !p.job.InForce(r) {
			continue
		}
		for _, h := range r.Blobs {
			if slices.ContainsFunc(shots, func(x shot) bool { return x.hash == h }) {
				continue
			}
			shots = append(shots, shot{r.On.Layer, h, p.caption(s, r)})
		}
	}
	slices.SortStableFunc(shots, func(a, b shot) int { return a.layer - b.layer })
	var out []paper.PackPhoto
	for _, x := range shots[:min(len(shots), maxPackPhotos)] {
		photo := paper.PackPhoto{Caption: x.caption}
		if e, _ := p.job.PhotoErased(x.hash); e != nil {
			photo.Erased = "erased on " + p.date(e.DoneAt())
		} else if p.opt.Photo != nil {
			photo.JPEG = p.opt.Photo(x.hash)
		}
		out = append(out, photo)
	}
	return out
}

func (p packer) caption(s *jobs.Surface, r *jobs.Record) string {
	words := s.Code
	if l := s.Layer(r.On.Layer); l != nil {
		words += fmt.Sprintf(", layer %d, %s", l.N, jobs.NameOf(l.Now))
	}
	if rule, ok := jobs.RuleOf(r.On.Check); ok {
		words += ": " + rule.Code + " " + lowerFirst(rule.Title)
	}
	if d, ok := r.What.(*jobs.CheckResult); ok {
		words += ", " + spaced(d.Result)
	}
	words += ". " + p.date(r.DoneAt())
	if who := p.name(r); who != "" {
		words += ", " + who
	}
	return words + "."
}

func (p packer) test(v jobs.TestVerdict) paper.PackTest {
	d := v.Test
	quantity := jobs.QuantityName(d.Quantity)
	t := paper.PackTest{Quantity: quantity, Rooms: d.SourceRoom + " to " + d.ReceivingRoom, Measured: "measured " + levelExact(v.MeasuredDB), Notes: v.Notes,
		By: "By " + d.Body + ", " + p.date(v.Record.DoneAt())}
	if d.Accreditation != "" {
		t.By += ", accreditation " + d.Accreditation
	}
	if d.TestNo != "" {
		t.By += ", test " + d.TestNo
	}
	if d.Condition != "" {
		t.Notes = append([]string{"Condition: " + d.Condition}, t.Notes...)
	}
	if v.Limit != nil {
		t.Limit = "Limit " + targetWords(*v.Limit)
		t.Verdict = map[bool]string{true: "passes", false: "fails"}[*v.Passes]
		t.Margin = map[bool]string{true: "margin ", false: "short by "}[*v.Passes] + levelExact(max(*v.MarginDB, -*v.MarginDB))
	}
	if v.PredictedDB != nil {
		t.Predicted = fmt.Sprintf("Predicted %s", levelExact(*v.PredictedDB))
		if v.UDB != nil {
			t.Predicted += " ± " + uncertainty(*v.UDB) + thin + "dB"
		}
		t.Predicted += " " + quantity + " for " + v.Predicted
		if v.Frozen != "" {
			t.Predicted += ", as it stood in the quote"
		}
	}
	return t
}

// levelExact writes a level to the tenth where it has one.
func levelExact(v float64) string { return withUnit(decimal(v, 1), "dB") }

func (p packer) substitutions() []string {
	var out []string
	for _, s := range p.job.Surfaces {
		for _, r := range s.Work() {
			d, ok := r.What.(*jobs.Substitute)
			if !ok || !p.job.InForce(r) {
				continue
			}
			l := s.Layer(r.On.Layer)
			words := fmt.Sprintf("%s, layer %d: ", s.Code, r.On.Layer)
			if d.LayerNew != nil {
				words += jobs.NameOf(*d.LayerNew) + " "
				if m := d.LayerNew.MassKgM2(); m > 0 {
					words += "of " + massOf(m) + " "
				}
			}
			if l != nil {
				words += "in place of " + jobs.NameOf(l.Specified) + " of " + massOf(l.SpecifiedMass()) + ", "
			}
			out = append(out, words+spaced(d.State)+" on "+p.date(r.DoneAt())+". Reason: "+strings.TrimSuffix(d.Reason, ".")+".")
		}
	}
	return out
}

// openOnFirst bounds what the first page says to be open; the rest is in its place further on.
const openOnFirst = 8

// stillOpen says first of all what is not finished: what was found wrong and is not accepted yet, and the stop checks nobody answered on work
// that is in place.
func (p packer) stillOpen() []string {
	var out []string
	for _, n := range p.job.NonConformances() {
		if !n.Open() {
			continue
		}
		words := "To be put right: "
		if n.State == jobs.NCPutRight {
			words = "Put right, not yet accepted by somebody else: "
		} else if n.Grade == jobs.GradeStop {
			words = "Stop, to be put right: "
		}
		words += n.On.Surface
		if n.On.Layer > 0 {
			words += fmt.Sprintf(", layer %d", n.On.Layer)
		}
		out = append(out, words+": "+strings.TrimSuffix(n.Saw, ".")+".")
	}
	for _, s := range p.job.Surfaces {
		var codes []string
		for _, c := range s.Checks {
			inPlace := slices.ContainsFunc(s.Layers, func(l *jobs.Layer) bool { return l.Share > 0 && (c.Layer == 0 || l.N == c.Layer) })
			if c.Rule.Stop && inPlace && holds(c) && c.State != jobs.CheckFailed {
				code := c.Rule.Code
				if c.Layer > 0 {
					code += fmt.Sprintf(" of layer %d", c.Layer)
				}
				codes = append(codes, code)
			}
		}
		if len(codes) > 0 {
			out = append(out, s.Code+": "+jobs.Count(len(codes), "stop check")+" without a pass or a release: "+listed(codes)+".")
		}
	}
	if more := len(out) - openOnFirst; more > 0 {
		out = append(out[:openOnFirst], fmt.Sprintf("%d more; they stand under what was found wrong and what was not seen.", more))
	}
	return out
}

func (p packer) corrected() []string {
	var out []string
	for _, n := range p.job.NonConformances() {
		if n.Grade == jobs.GradeNote {
			continue
		}
		words := n.On.Surface
		if n.On.Layer > 0 {
			words += fmt.Sprintf(", layer %d", n.On.Layer)
		}
		words += ": " + n.Saw
		switch {
		case n.PutRight != nil:
			words += "; put right on " + p.date(n.PutRight.DoneAt())
		case n.State == jobs.NCAccepted:
			words += "; accepted as it is"
		default:
			words += "; not put right yet"
		}
		switch {
		case n.Accepted != nil && n.OwnWork:
			words += ", and accepted by whoever did it: nobody else worked on this job"
		case n.Accepted != nil && n.PutRight != nil:
			words += ", accepted on " + p.date(n.Accepted.DoneAt())
		case n.PutRight != nil:
			words += ", not yet accepted by somebody else"
		}
		out = append(out, words+".")
	}
	return out
}

func (p packer) notSeen() []string {
	lines := p.job.NotSeen("", 0)
	for _, r := range p.job.Of("sign_off") {
		for _, l := range r.What.(*jobs.SignOff).NotSeen {
			if !slices.Contains(lines, l) {
				lines = append(lines, l)
			}
		}
	}
	return lines
}

func (p packer) certificates() []string {
	var out []string
	for _, s := range p.job.Surfaces {
		for _, c := range s.Checks {
			for _, h := range c.Heads {
				if d, ok := h.What.(*jobs.CheckResult); ok && d.Certificate != "" {
					out = append(out, fmt.Sprintf("%s: %s, %s (%s)", s.Code, lowerFirst(c.Rule.Title), d.Certificate, p.date(h.DoneAt())))
				}
			}
		}
	}
	return out
}

func (p packer) cautions() []string {
	type line struct{ code, says string }
	var lines []line
	where := map[line][]string{}
	for _, q := range jobs.CautionQuestions() {
		for _, s := range p.job.Surfaces {
			for _, c := range p.job.Cautions(s) {
				if c.Code != q.Code {
					continue
				}
				l := line{capital(c.Code), sentence(c.Answer) + " Decided by " + c.DecidedBy + "."}
				if c.Open {
					l.says = c.Asks + " Nobody has answered this on record. It is for " + c.Who + "."
				}
				if where[l] == nil {
					lines = append(lines, l)
				}
				where[l] = append(where[l], s.Code)
			}
		}
	}
	var out []string
	for _, l := range lines {
		out = append(out, l.code+", "+listed(where[l])+": "+l.says)
	}
	return out
}

func (p packer) declined() []string {
	var out []string
	for _, s := range p.job.Surfaces {
		for _, f := range p.job.FlankingList(s) {
			switch f.State {
			case jobs.FlankDeclined:
				out = append(out, s.Code+": "+f.Name+". Treating it was declined by "+f.By+".")
			case jobs.FlankAccepted:
				out = append(out, s.Code+": "+f.Name+". "+f.By+" was told that it stays.")
			case jobs.FlankLeft:
				out = append(out, s.Code+": "+f.Name+". It was left as it is.")
			}
		}
	}
	return out
}

func (p packer) followUps() []string {
	var out []string
	for _, d := range p.job.Due(p.opt.Printed) {
		out = append(out, fmt.Sprintf("%s after handover: about %s.", jobs.Count(d.Month, "month"), p.date(d.At)))
	}
	if len(out) > 0 {
		out = append(out, "Each time the same questions, from 0 to 10, by kind of noise. If something is worse, or new, do not wait for us: call.")
	}
	return out
}

// finish says what may lie on each floor.
func (p packer) finish() []string {
	var out []string
	for _, s := range p.job.Surfaces {
		if s.Kind != jobs.Floor {
			continue
		}
		words := s.Code + ": the outer layer is " + lowerFirst(outermost(s)) + ". "
		out = append(out, words+"A soft covering does no harm to the sound insulation. Ask before laying stone, tiles or wood: a hard finish, or one that touches the walls, can undo what was gained for footsteps.")
	}
	return out
}

func outermost(s *jobs.Surface) string {
	if len(s.Layers) == 0 {
		return "what was there before"
	}
	return jobs.NameOf(s.Layers[len(s.Layers)-1].Now)
}

func (p packer) care() []string {
	out := []string{
		"Edges: the bead round each surface is soft on purpose. Do not paint over cracks in it with filler or plaster; cut it out and fill it again with non-setting acoustic sealant.",
		"Air: leave fans, grilles, trickle vents and air bricks open. A room with an appliance that burns fuel needs its air.",
	}
	for _, st := range p.job.Structures {
		words := fmt.Sprintf("Weight: the work adds %s to %s", loadOf(p.job.StructureLoad(st)), first(st.Name, st.Code))
		if st.LoadLimit != nil {
			words += ", of " + loadOf(*st.LoadLimit) + " agreed"
		}
		out = append(out, words+". Ask a structural engineer before adding more.")
	}
	return out
}

func first(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}

// fixing says for each surface what stands behind it, as recorded, and what may be fixed into it.
func (p packer) fixing() []paper.PackFixing {
	var out []paper.PackFixing
	for _, s := range p.job.Surfaces {
		if len(s.Layers) == 0 || s.Kind == jobs.PipeRun {
			continue
		}
		x := fixingOf(s)
		x.Plan = p.plan(s)
		if x.Plan == nil && s.Kind != jobs.Floor {
			x.MayNot = append(x.MayNot, "Where the lines of the frame, pipes and cables run was not recorded in figures: look for them with a detector before any hole.")
		}
		out = append(out, x)
	}
	return out
}

// plan is the surface with the lines recorded behind it, nil for none.
func (p packer) plan(s *jobs.Surface) *paper.Plan {
	lines := p.job.LinesOf(s)
	if len(lines) == 0 || s.WidthM == nil || s.HeightM == nil {
		return nil
	}
	plan := &paper.Plan{WidthM: *s.WidthM, HeightM: *s.HeightM}
	for _, l := range lines {
		size := *s.HeightM * 1000
		if l.Across() {
			size = *s.WidthM * 1000
		}
		plan.Lines = append(plan.Lines, paper.PlanLines{What: l.What + "s", Across: l.Across(), AtMM: l.FromStart(size), Danger: l.What == "pipe" || l.What == "cable"})
		if l.Note != "" {
			plan.Notes = append(plan.Notes, sentence(l.Note))
		}
	}
	return plan
}

func fixingOf(s *jobs.Surface) paper.PackFixing {
	x := paper.PackFixing{Surface: s.Code}
	boards, clear := 0.0, 0.0
	var behind []string
	for i := len(s.Layers) - 1; i >= 0; i-- {
		l := s.Layers[i]
		if c, ok := l.Now.Element.(acoustics.Cavity); ok {
			if clear == 0 {
				clear = c.Depth
			}
			behind = append(behind, frameWords(l, c))
		} else if clear == 0 {
			boards += l.FittedMM()
		}
	}
	x.Behind = strings.Join(behind, "; ")
	if s.Kind == jobs.Floor {
		x.Behind = first(x.Behind, "floating floor")
		x.May = []string{"Stand furniture on it, and lay a soft covering."}
		x.MayNot = []string{fmt.Sprintf("No screw or nail through the deck: what is loose on a soft layer has to stay loose. The layers together are %s.", thicknessOf(boards)),
			"Nothing that ties it to the walls: skirting, thresholds and pipes stay clear of it."}
		return x
	}
	x.Behind = first(x.Behind, "no frame is recorded; the boards lie on the structure")
	x.May = []string{fmt.Sprintf("Light things such as a picture, into the boards only. The boards and what lies between them are %s together: keep fixings shorter than that.", thicknessOf(boards))}
	if clear > 0 {
		x.MayNot = append(x.MayNot, fmt.Sprintf("No fixing longer than %s: it would reach through the boards and the gap of %s behind them, and carry the sound across.", thicknessOf(boards+clear), thicknessOf(clear)))
	}
	x.MayNot = append(x.MayNot, "No bracket for a television, no shelf, cupboard or kitchen unit without asking us first: nothing here says how much weight the surface holds.")
	if s.Kind.Overhead() {
		x.MayNot = append(x.MayNot, "No recessed lights, fans or hatches: every hole lets sound through, and may breach a fire line.")
	} else {
		x.MayNot = append(x.MayNot, "No new sockets, pipes or openings without asking us first: every hole lets sound through, and may breach a fire line.")
	}
	return x
}

// frameWords says what a frame is and where its lines lie, as recorded.
func frameWords(l *jobs.Layer, c acoustics.Cavity) string {
	words := jobs.NameOf(l.Now)
	f := c.Frame
	if f == nil || f.Kind == "none" && f.Resilient == "" {
		return words
	}
	if f.SpacingMM == nil {
		return words + ", centres not recorded"
	}
	return words + ", lines at " + thicknessOf(*f.SpacingMM) + " centres"
}
