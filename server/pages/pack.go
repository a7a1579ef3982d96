package pages

import (
	"slices"
	"strings"
	"time"

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
		pack.Unseen = jobs.Capital(jobs.Count(n, "layer")) + " covered before anybody who has to had seen " + map[bool]string{true: "it", false: "them"}[n == 1] + ". The predictions are less certain for it, and say so."
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
		letter = append(letter, "What was done: we worked on "+jobs.JoinWords(done)+". The sheets that follow show each layer as it was built, from the structure outward, with its weight, and photos of what is hidden now.")
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
		letter = append(letter, "The work was meant to reach "+jobs.JoinWords(targets)+". What was measured stands under Sound tests, beside what had been predicted. A prediction is an estimate with an uncertainty, and a laboratory figure is not a figure of your home.")
	}
	return append(letter, "What it will not do: it does not bring silence, it does not stop sound that goes round these surfaces, and it does little against low bass through a light structure. "+
		"This pack says nothing about fire, structure, electrics or asbestos beyond what others have put on record; those questions are for licensed people and the local rules.")
}
