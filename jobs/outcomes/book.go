package outcomes

import (
	"cmp"
	"hash/fnv"
	"maps"
	"slices"
)

// Book holds the facts of many jobs and what can be counted of them. Taking in one more job, or one job anew, touches what
// that job touches and nothing else. A Book is used by one goroutine at a time.
type Book struct {
	jobs     map[string]*Facts
	families map[string]*chapter
	counts   []map[string]count // by grouping, then level
	noise    map[string]int     // complaints that count, jobs by kind of noise
	whole    count
	patterns map[pattern]outcome
	real     int // jobs that are jobs, and not the place of the firm's own entries
	running  int // of them not finished yet
	held     int // of those, all in place and on hold
	tallies  tallies
	links    *Drivers // nil: to be fitted anew
	summary  *Summary
}

// chapter is one family's part of the book.
type chapter struct {
	family Family
	parts  map[string]map[string]bool // job -> surfaces
	done   *FamilySummary             // nil: to be worked out anew
	marks  []ReviewMark
}

// count is what is counted of jobs: whole numbers, so that taking one out again leaves no trace.
type count struct{ n, unknown, complaints, ours int }

func (c *count) add(s standing, sign int) {
	switch {
	case !s.known:
		c.unknown += sign
	default:
		c.n += sign
		if s.complained {
			c.complaints += sign
		}
		if s.ours {
			c.ours += sign
		}
	}
}

// NewBook returns a book without jobs.
func NewBook() *Book {
	b := &Book{jobs: map[string]*Facts{}, families: map[string]*chapter{}, noise: map[string]int{}, patterns: map[pattern]outcome{}, tallies: newTallies()}
	for range groupings {
		b.counts = append(b.counts, map[string]count{})
	}
	return b
}

// Summarise works out the summary of many jobs at once.
func Summarise(facts []Facts) Summary {
	b := NewBook()
	for _, f := range facts {
		b.Put(f)
	}
	return b.Summary()
}

// Put takes in the facts of a job, in place of what the book had of it.
func (b *Book) Put(f Facts) {
	b.Remove(f.Job)
	b.jobs[f.Job] = &f
	b.enter(&f, 1)
}

// Remove takes a job out again.
func (b *Book) Remove(job string) {
	if f, ok := b.jobs[job]; ok {
		b.enter(f, -1)
		delete(b.jobs, job)
	}
}

// Len is the number of jobs.
func (b *Book) Len() int { return len(b.jobs) }

// enter adds a job's part to everything that is counted, or takes it off.
func (b *Book) enter(f *Facts, sign int) {
	b.summary = nil
	for _, m := range f.Reviews {
		c := b.chapter(m.Family)
		c.done = nil
		if sign > 0 {
			c.marks = append(c.marks, m)
			continue
		}
		c.marks = slices.DeleteFunc(c.marks, func(o ReviewMark) bool { return o == m })
	}
	if b.tallies.settings[f.Job] = f.settings; sign < 0 || len(f.settings) == 0 {
		delete(b.tallies.settings, f.Job)
	}
	if !f.real() {
		return
	}
	b.real += sign
	b.tallies.enter(f, sign)
	for _, p := range f.Parts {
		if p.Bare {
			continue
		}
		c := b.chapter(p.Family.Code)
		c.family, c.done = p.Family, nil
		if sign < 0 {
			delete(c.parts, f.Job)
			continue
		}
		if c.parts[f.Job] == nil {
			c.parts[f.Job] = map[string]bool{}
		}
		c.parts[f.Job][p.Surface] = true
	}
	if !f.over() {
		b.running += sign
		if f.OnHold {
			b.held += sign
		}
		return
	}
	s := f.standing(nil)
	if s.dated {
		b.tallies.followed.enter(s.followed, sign)
	}
	if s.known { // those that nobody heard of are not fitted to, nor counted as left out
		b.links = nil
	}
	b.whole.add(s, sign)
	for i, g := range groupings {
		level := g.of(f)
		c := b.counts[i][level]
		c.add(s, sign)
		b.counts[i][level] = c
	}
	kinds := map[string]bool{}
	for _, c := range f.Complaints {
		if c.Counts() {
			kinds[c.Kind] = true
		}
	}
	for k := range kinds {
		b.noise[k] += sign
	}
	if p, ok := patternOf(f, s); ok {
		o := b.patterns[p]
		o.n += sign
		if f.trouble(s) {
			o.events += sign
		}
		if b.patterns[p] = o; o.n == 0 {
			delete(b.patterns, p)
		}
	}
}

func (b *Book) chapter(code string) *chapter {
	c := b.families[code]
	if c == nil {
		c = &chapter{family: Family{Code: code, Words: "no job of this family yet"}, parts: map[string]map[string]bool{}}
		b.families[code] = c
	}
	return c
}

// ordered lists the jobs by the end of their work, those without one last; equal times by id, so that the same facts give
// the same summary on every machine.
func ordered(fs []*Facts) []*Facts {
	slices.SortFunc(fs, func(a, b *Facts) int {
		switch {
		case a.Finished != nil && b.Finished != nil:
			return cmp.Or(a.Finished.Compare(*b.Finished), cmp.Compare(a.Job, b.Job))
		case a.Finished != nil:
			return -1
		case b.Finished != nil:
			return 1
		}
		return cmp.Compare(a.Job, b.Job)
	})
	return fs
}

func (b *Book) all() []*Facts { return ordered(slices.Collect(maps.Values(b.jobs))) }

// fold gives a job one of n parts, the same one always.
func fold(job string, n int) int {
	h := fnv.New32a()
	h.Write([]byte(job))
	return int(h.Sum32() % uint32(n))
}

// Facts gives the facts of all jobs, by the end of their work.
func (b *Book) Facts() []Facts {
	out := make([]Facts, 0, len(b.jobs))
	for _, f := range b.all() {
		out = append(out, *f)
	}
	return out
}
