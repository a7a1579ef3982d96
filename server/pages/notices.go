package pages

import (
	"fmt"
	"strconv"
	"strings"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/notice"
)

var (
	_ = register(Page{Name: "desk", Path: "/notices", Roles: desk, Get: getNotices, View: deskView{}, When: hasNotices})
	_ = register(Page{Name: "desk", Path: "/notices/mail", Roles: desk, Get: getMailServer, Post: postMailServer, View: deskView{}, When: hasNotices})
	_ = register(Page{Name: "desk", Path: "/notices/call", Roles: desk, Get: getHook, Post: postHook, View: deskView{}, When: hasNotices})
	_ = register(Page{Path: "/notices/test", Roles: desk, Post: postNoticeTest, When: hasNotices})
	_ = register(Page{Path: "/notices/again", Roles: desk, Post: postNoticeAgain, When: hasNotices})
)

func hasNotices(d Deps) bool { return d.Accounts != nil && d.Notices != nil }

// LinkTo is the path of the page where a thing that somebody was told of is answered.
func LinkTo(t notice.Thing) string {
	at := "/jobs/" + t.Job + "/s/" + t.Surface
	switch {
	case t.Layer == 0:
		return at
	case t.Kind == notice.Substitution:
		return fmt.Sprintf("%s/%d/substitute", at, t.Layer)
	case t.Kind == notice.StopFailed || t.Kind == notice.NonConformance:
		return "/jobs/" + t.Job + "/non-conformances"
	}
	return fmt.Sprintf("%s/%d/answer", at, t.Layer)
}

// noticeWords are the kinds of news as people say them.
var noticeWords = map[notice.Kind]string{notice.ToSee: "A layer is ready to be seen, or was put right", notice.StopFailed: "A stop check failed",
	notice.Substitution: "Another material is asked for, or fixed", notice.CoveredUnseen: "A layer was covered unseen", notice.NonConformance: "Anything else is to be put right"}

func kindsField(now []string) field {
	f := field{Kind: "box", Name: "kinds", Label: "What of"}
	for _, k := range notice.Kinds() {
		o := option{Value: string(k), Label: noticeWords[k]}
		for _, have := range now {
			o.Checked = o.Checked || have == string(k)
		}
		f.Options = append(f.Options, o)
	}
	return f
}

// kindsOf are the kinds that were chosen and that there are.
func kindsOf(v *visit) []string {
	var list []string
	for _, k := range formValues(v.c, "kinds") {
		if _, ok := noticeWords[notice.Kind(k)]; ok {
			list = append(list, k)
		}
	}
	return list
}

var noticesCrumb = []crumb{{Text: "People", Href: "/people"}, {Text: "How news is sent", Href: "/notices"}}

func getNotices(v *visit) error {
	ways, err := v.deps.Accounts.NoticeWays(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	sent, err := v.deps.Accounts.Notices(v.ctx, v.who.Company, 50)
	if err != nil {
		return err
	}
	view := deskView{Answer: "How news is sent", Where: []crumb{peopleCrumb}, Links: []step{{"Set the mail server", "/notices/mail"}, {"Set the address that is called", "/notices/call"}},
		Lead: []string{"People whose page is closed can be told what waits for them. Each chooses on their own page what of, when, and where to.", "No mail server is set: nobody is written to.", "No address is called."}}
	if ways.Mail.Host != "" {
		view.Lead[1] = fmt.Sprintf("Mail goes over %s, port %d, as %s.", ways.Mail.Host, ways.Mail.Port, ways.Mail.Sender)
		view.Links[0].Text = "Change the mail server"
	}
	list := deskGroup{Title: "Sent lately", Empty: "Nothing was sent yet."}
	for _, s := range sent {
		list.Rows = append(list.Rows, v.noticeRow(s))
	}
	if ways.Hook != "" {
		view.Lead[2] = "This address is called: " + ways.Hook
		view.Links[1].Text = "Change the address that is called"
		view.Groups = append(view.Groups, deskGroup{Title: "The call", Rows: []deskRow{{Name: "A call with nothing to tell", Do: []deskButton{{"/notices/test", "Try it now", nil}}}}})
	}
	view.Groups = append(view.Groups, list)
	return v.desk(view)
}

func (v *visit) noticeRow(s accounts.Notice) deskRow {
	row := deskRow{Name: "Call of " + v.clock(s.Made)}
	if s.Way == accounts.ByMail {
		row.Name = "Mail to " + v.name(s.Person) + " of " + v.clock(s.Made)
	}
	tries := "try " + strconv.Itoa(s.Tries)
	switch s.State {
	case accounts.NoticeSent:
		row.Says = []string{"Taken by the other side " + v.clock(s.Done) + ", at " + tries + "."}
	case accounts.NoticeDropped:
		row.Says = []string{"Not sent: " + s.Says + "."}
	case accounts.NoticeGivenUp:
		row.Says = []string{"Given up at " + tries + ": " + s.Says + "."}
	default:
		row.Says = []string{"Waits; the first try is about to be made."}
		if s.Tries > 0 {
			row.Says = []string{"Waits after " + tries + ", the next " + v.clock(s.Next) + ": " + s.Says + "."}
		}
	}
	if s.State == accounts.NoticeGivenUp || s.State == accounts.NoticeWaiting && s.Tries > 0 {
		row.Do = []deskButton{{"/notices/again", "Try again now", []hidden{{"notice", s.ID}}}}
	}
	return row
}

func postNoticeTest(v *visit) error {
	if _, err := v.deps.Notices.Test(v.ctx, v.who.Company); err != nil {
		return err
	}
	return v.see("/notices")
}

func postNoticeAgain(v *visit) error {
	id := v.c.FormValue("notice")
	if err := v.deps.Accounts.TryAgain(v.ctx, v.who.Company, id); err != nil {
		return err
	}
	if _, err := v.deps.Notices.TryNow(v.ctx, v.who.Company, id); err != nil {
		return err
	}
	return v.see("/notices")
}

func mailView(ways accounts.NoticeWays) deskView {
	m := ways.Mail
	port, tls, hint := "587", m.TLS, "Kept encrypted and shown to nobody, you included."
	if m.Port > 0 {
		port = strconv.Itoa(m.Port)
	}
	if tls == "" {
		tls = accounts.StartTLS
	}
	if m.Password != "" {
		hint = "Left empty, the one before stays. " + hint
	}
	return deskView{Answer: "The mail server", Where: noticesCrumb, Lead: []string{"The firm's own. Without TLS nothing is sent. An empty name ends it."}, Form: form{Submit: "Keep it", Fields: []field{
		{Kind: "text", Name: "host", Label: "Name of the server", Hint: "Such as mail.example.org.", Value: m.Host},
		{Kind: "text", Name: "port", Label: "Port", Value: port},
		{Kind: "choice", Name: "tls", Label: "How TLS begins", Options: []option{{Value: accounts.StartTLS, Label: "After a first word (STARTTLS), mostly port 587", Checked: tls == accounts.StartTLS},
			{Value: accounts.WholeTLS, Label: "At once, mostly port 465", Checked: tls == accounts.WholeTLS}}},
		{Kind: "text", Name: "sender", Label: "Address that mails come from", Value: m.Sender},
		{Kind: "text", Name: "mail_login", Label: "Login at the mail server", Hint: "Empty where it asks for none.", Value: m.Login, Auto: "off"},
		{Kind: "password", Name: "password", Label: "Password at the mail server", Hint: hint, Auto: "off"},
		{Kind: "box", Name: "names_job", Label: "Name of the job", Options: []option{{Value: "true", Label: "Mails say it", Hint: "It is mostly the address of somebody's home; without it the link tells, after signing in.", Checked: ways.NamesJob}}},
		confirmField()}}}
}

func getMailServer(v *visit) error {
	ways, err := v.deps.Accounts.NoticeWays(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	return v.desk(mailView(ways))
}

func postMailServer(v *visit) error {
	ways, err := v.deps.Accounts.NoticeWays(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	view := mailView(ways)
	if err := v.confirmed(); err != nil {
		return v.refuse(view, err)
	}
	port, err := strconv.Atoi(strings.TrimSpace(v.c.FormValue("port")))
	if err != nil {
		return v.refuse(view, &jobs.InputError{Field: "port", Value: "not a number", Range: "1 to 65535"})
	}
	m := accounts.MailServer{Host: v.c.FormValue("host"), Port: port, TLS: v.c.FormValue("tls"), Sender: v.c.FormValue("sender"), Login: v.c.FormValue("mail_login"), Password: v.c.FormValue("password")}
	if err := v.deps.Accounts.SetMailServer(v.ctx, v.who.Company, m, v.c.FormValue("names_job") == "true"); err != nil {
		return v.refuse(view, err)
	}
	return v.see("/notices")
}

func hookView(ways accounts.NoticeWays) deskView {
	view := deskView{Answer: "The address that is called", Where: noticesCrumb, Lead: []string{
		"A program of yours at this address gets what waits as JSON, by POST. It names no people. Each call is signed as RFC 9421 says, with hmac-sha256 and a key that is shown once: let your program refuse what is not.",
		"An empty address ends it."},
		Form: form{Submit: "Keep it", Fields: []field{{Kind: "text", Name: "hook", Label: "Address", Hint: "It begins with https://", Value: ways.Hook}, kindsField(ways.Kinds)}}}
	if ways.Hook != "" {
		view.Form.Fields = append(view.Form.Fields, field{Kind: "box", Name: "fresh", Label: "Key", Options: []option{{Value: "true", Label: "Make a new one; the one before ends"}}})
	}
	view.Form.Fields = append(view.Form.Fields, confirmField())
	return view
}

func getHook(v *visit) error {
	ways, err := v.deps.Accounts.NoticeWays(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	return v.desk(hookView(ways))
}

func postHook(v *visit) error {
	ways, err := v.deps.Accounts.NoticeWays(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	view := hookView(ways)
	if err := v.confirmed(); err != nil {
		return v.refuse(view, err)
	}
	kinds := kindsOf(v)
	if len(kinds) == 0 && strings.TrimSpace(v.c.FormValue("hook")) != "" {
		return v.refuse(view, &jobs.InputError{Field: "kinds", Value: "missing", Hint: "choose what the calls tell of"})
	}
	key, err := v.deps.Accounts.SetHook(v.ctx, v.who.Company, v.c.FormValue("hook"), kinds, v.c.FormValue("fresh") == "true")
	if err != nil {
		return v.refuse(view, err)
	}
	if key == "" {
		return v.see("/notices")
	}
	return v.showSecret(deskView{Answer: "The key of the calls", Where: noticesCrumb, Code: key, Lead: []string{"In base 64, 32 bytes. Give it to your program now: it is not shown again."}})
}
