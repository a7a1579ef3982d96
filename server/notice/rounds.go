package notice

import (
	"context"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/pause"
	"tacet/sync/replica"
)

// Config is what notices are made with.
type Config struct {
	Accounts *accounts.Accounts
	Record   *replica.Replica
	Link     func(Thing) string // path of the page where a thing is answered
	Host     string             // address by which people reach the server, for links
	Zone     *time.Location
	Now      func() time.Time
	Private  bool           // addresses inside the server's own network may be used
	Roots    *x509.CertPool // who may vouch for mail servers and called addresses; nil for those that the system trusts
	Log      *slog.Logger
}

// Notices tells people what waits for them.
type Notices struct {
	accounts *accounts.Accounts
	record   *replica.Replica
	link     func(Thing) string
	host     string
	zone     *time.Location
	now      func() time.Time
	private  bool
	roots    *x509.CertPool
	log      *slog.Logger

	mu    sync.Mutex
	known map[string]known // by company
}

// known is what a round found on the jobs of a firm, and in which state they were.
type known struct {
	mark   string
	things []Thing
}

// New returns the notices of a server.
func New(c Config) *Notices {
	return &Notices{accounts: c.Accounts, record: c.Record, link: c.Link, host: strings.TrimRight(c.Host, "/"), zone: c.Zone, now: c.Now, private: c.Private, roots: c.Roots, log: c.Log, known: map[string]known{}}
}

const (
	// RoundEvery is how often a server looks for what there is to tell.
	RoundEvery = 20 * time.Second
	// giveUp is how long a notice is tried. After it what it tells is no news.
	giveUp = 48 * time.Hour
	// longestWait bounds the time between two tries.
	longestWait = 2 * time.Hour
	// atOnce bounds how many notices of one firm one round tries, so that no firm holds up others for long.
	atOnce = 10
	// mostThings bounds what one mail lists.
	mostThings = 40
)

// Run makes rounds until ctx ends.
func (n *Notices) Run(ctx context.Context, every time.Duration) {
	for going := true; going; going = pause.For(ctx, every) {
		if err := n.Round(ctx); err != nil && ctx.Err() == nil {
			n.log.Error("notices", "error", err.Error())
		}
	}
}

// Round looks once at every firm, tells what is new and tries what is due.
func (n *Notices) Round(ctx context.Context) error {
	firms, err := n.accounts.Companies(ctx)
	if err != nil {
		return err
	}
	var errs []error
	for _, f := range firms {
		if err := n.roundOf(ctx, f.ID); err != nil {
			errs = append(errs, fmt.Errorf("company %s: %w", f.ID, err))
		}
	}
	return errors.Join(errs...)
}

func (n *Notices) roundOf(ctx context.Context, co string) error {
	ways, err := n.accounts.NoticeWays(ctx, co)
	if err != nil {
		return err
	}
	var wishes []accounts.NoticeWish
	if ways.Mail.Host != "" {
		if wishes, err = n.accounts.NoticeWishes(ctx, co); err != nil {
			return err
		}
	}
	if len(wishes) > 0 || ways.Hook != "" {
		things, err := n.things(ctx, co)
		if err != nil {
			return err
		}
		if err := n.tellAll(ctx, co, ways, wishes, things); err != nil {
			return err
		}
	}
	return n.tryDue(ctx, co, ways)
}

// things lists what waits in a firm; as long as its jobs are as they were, it is not worked out again.
func (n *Notices) things(ctx context.Context, co string) ([]Thing, error) {
	rows, err := n.record.Jobs(ctx, co)
	if err != nil {
		return nil, err
	}
	mark := fmt.Sprint(rows)
	n.mu.Lock()
	was, ok := n.known[co]
	n.mu.Unlock()
	if ok && was.mark == mark {
		return was.things, nil
	}
	var all []*jobs.Job
	for _, r := range rows {
		j, err := n.record.Job(ctx, co, r.ID)
		if err != nil {
			return nil, err
		}
		all = append(all, j)
	}
	if !slices.ContainsFunc(all, func(j *jobs.Job) bool { return j.ID == co }) {
		own, err := n.record.Job(ctx, co, co) // the firm's own rule
		if err != nil && !errors.Is(err, replica.ErrNoJob) {
			return nil, err
		}
		if err == nil {
			all = append(all, own)
		}
	}
	things := Things(all)
	n.mu.Lock()
	n.known[co] = known{mark, things}
	n.mu.Unlock()
	return things, nil
}

func (n *Notices) tellAll(ctx context.Context, co string, ways accounts.NoticeWays, wishes []accounts.NoticeWish, things []Thing) error {
	for _, w := range wishes {
		if n.quiet(w) {
			continue
		}
		seen, err := n.seenBy(ctx, co, w.Person, w.Role, things)
		if err != nil {
			return err
		}
		if err := n.tell(ctx, co, w.Person, accounts.ByMail, w.Kinds, seen); err != nil {
			return err
		}
	}
	if ways.Hook == "" {
		return nil
	}
	return n.tell(ctx, co, "", accounts.ByHook, ways.Kinds, things)
}

// seenBy leaves out what stands on jobs that are kept from a person.
func (n *Notices) seenBy(ctx context.Context, co, person string, role jobs.Role, things []Thing) ([]Thing, error) {
	var rows []replica.JobRow
	for _, t := range things {
		if !slices.ContainsFunc(rows, func(r replica.JobRow) bool { return r.ID == t.Job }) {
			rows = append(rows, replica.JobRow{ID: t.Job})
		}
	}
	shown, err := n.record.Shown(ctx, co, replica.Viewer{Persons: map[string]jobs.Role{person: role}}, rows)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(slices.Clone(things), func(t Thing) bool {
		return !slices.ContainsFunc(shown, func(r replica.JobRow) bool { return r.ID == t.Job })
	}), nil
}

func (n *Notices) tell(ctx context.Context, co, person string, way accounts.NoticeWay, kinds []string, things []Thing) error {
	var keys []string
	byKey := map[string]Thing{}
	for _, t := range things {
		if slices.Contains(kinds, string(t.Kind)) && (person == "" || t.by != person) {
			keys = append(keys, t.Key)
			byKey[t.Key] = t
		}
	}
	keys, err := n.accounts.Untold(ctx, co, person, keys)
	if err != nil || len(keys) == 0 {
		return err
	}
	_, err = n.accounts.Tell(ctx, co, person, way, keys[:min(len(keys), mostThings)], func(fresh []string) (string, error) {
		var b body
		for _, k := range fresh {
			b.Things = append(b.Things, byKey[k])
		}
		text, err := json.Marshal(b)
		return string(text), err
	})
	return err
}

// body is what a notice keeps of what it tells. No address: it goes where the person wants it when it is sent.
type body struct {
	Confirm bool    `json:"confirm,omitempty"`
	Test    bool    `json:"test,omitempty"`
	Things  []Thing `json:"things,omitempty"`
}

// quiet tells whether a person wants no mail now.
func (n *Notices) quiet(w accounts.NoticeWish) bool {
	now := n.now().In(n.zone)
	m := now.Hour()*60 + now.Minute()
	if w.QuietFrom <= w.QuietTo {
		return m >= w.QuietFrom && m < w.QuietTo
	}
	return m >= w.QuietFrom || m < w.QuietTo
}

// tryDue tries what is due in a firm.
func (n *Notices) tryDue(ctx context.Context, co string, ways accounts.NoticeWays) error {
	due, err := n.accounts.DueNotices(ctx, co, atOnce)
	if err != nil {
		return err
	}
	down := map[accounts.NoticeWay]bool{} // what did not answer once is left alone until the next round
	for _, note := range due {
		if ctx.Err() != nil {
			return nil
		}
		if down[note.Way] {
			continue
		}
		mine, err := n.accounts.TakeNotice(ctx, &note)
		if err != nil {
			return err
		}
		if !mine {
			continue
		}
		state, err := n.try(ctx, ways, note)
		if err != nil {
			return err
		}
		down[note.Way] = state == accounts.NoticeWaiting
	}
	return nil
}

// try sends one notice that was taken, and notes how it went.
func (n *Notices) try(ctx context.Context, ways accounts.NoticeWays, note accounts.Notice) (accounts.NoticeState, error) {
	why, err := n.deliver(ctx, ways, note)
	state, says, next := accounts.NoticeSent, "taken", time.Time{}
	switch {
	case why != "":
		state, says = accounts.NoticeDropped, why
	case err == nil:
	case refusedForGood(err) || errors.Is(err, errGone) || n.now().Sub(note.Made) > giveUp:
		state, says = accounts.NoticeGivenUp, inWords(err)
	default:
		state, says, next = accounts.NoticeWaiting, inWords(err), n.now().Add(wait(note.Tries))
	}
	// Also when the server is being stopped: the try was made.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), connectTime)
	defer cancel()
	return state, n.accounts.EndTry(ctx, note, state, says, next)
}

// wait is how long to wait after a number of tries: a minute, then twice as long each time.
func wait(tries int) time.Duration {
	return min(longestWait, time.Minute<<min(max(tries-1, 0), 10))
}

// deliver sends a notice where it belongs now; why says that nobody wants it any more.
func (n *Notices) deliver(ctx context.Context, ways accounts.NoticeWays, note accounts.Notice) (why string, err error) {
	var b body
	if err := json.Unmarshal([]byte(note.Body), &b); err != nil {
		return "", err
	}
	if note.Way == accounts.ByHook {
		if ways.Hook == "" {
			return "no address is called any more", nil
		}
		c := call{Notice: note.ID, Made: note.Made.UTC(), Company: note.Company, Test: b.Test, Things: []callThing{}}
		for _, t := range b.Things {
			path := n.link(t)
			if !ways.NamesJob {
				t.JobName = ""
			}
			c.Things = append(c.Things, callThing{t, n.host + path})
		}
		return "", n.call(ctx, ways, c)
	}
	if ways.Mail.Host == "" {
		return "there is no mail server any more", nil
	}
	w, err := n.accounts.NoticeWish(ctx, note.Company, note.Person)
	if err != nil {
		return "", err
	}
	switch {
	case w == nil || !b.Confirm && !w.Confirmed:
		return "the person wants no mail any more", nil
	case b.Confirm && w.Confirmed:
		return "the address is confirmed already", nil
	case b.Confirm:
		return "", n.send(ctx, ways.Mail, n.confirmation(*w, note))
	}
	u, err := n.accounts.User(ctx, note.Company, note.Person)
	if err != nil {
		return "", err
	}
	if u.Ended || !accounts.MayBeTold(u.Role) {
		return "the person is told nothing any more", nil
	}
	seen, err := n.seenBy(ctx, note.Company, note.Person, u.Role, b.Things)
	if err != nil {
		return "", err
	}
	if len(seen) == 0 {
		return "the person sees none of these jobs any more", nil
	}
	return "", n.send(ctx, ways.Mail, n.digest(*w, note, seen, ways.NamesJob))
}

// inWords is what the list of notices keeps of an error: one line, not long, and of no address that mail went to.
func inWords(err error) string {
	var rule *jobs.RuleError
	if errors.As(err, &rule) {
		return rule.Says
	}
	s, _, _ := strings.Cut(err.Error(), ", affected recipient")
	s = strings.Join(strings.Fields(s), " ")
	return strings.ToValidUTF8(s[:min(len(s), 200)], "")
}
