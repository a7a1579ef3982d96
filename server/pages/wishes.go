package pages

import (
	"fmt"
	"strconv"
	"strings"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/notice"
)

// told are the roles that news is sent to.
var told = []jobs.Role{jobs.Supervisor, jobs.Office, jobs.Owner}

var (
	_ = register(Page{Name: "desk", Path: "/account/notices", Roles: told, Get: getWish, Post: postWish, View: deskView{}, When: hasNotices})
	_ = register(Page{Path: "/account/notices/end", Roles: told, Post: postEndWish, When: hasNotices})
	_ = register(Page{Name: "desk", Path: "/notices/stop/:link", Roles: everybody, Open: true, Get: getStop, Post: postStop, View: deskView{}, When: hasNotices})
	_ = register(Page{Name: "desk", Path: "/notices/confirm/:link", Roles: everybody, Open: true, Get: getConfirmAddress, Post: postConfirmAddress, View: deskView{}, When: hasNotices})
)

func wishView(v *visit) (deskView, error) {
	w, err := v.deps.Accounts.NoticeWish(v.ctx, v.who.Company, v.who.Person)
	if err != nil {
		return deskView{}, err
	}
	ways, err := v.deps.Accounts.NoticeWays(v.ctx, v.who.Company)
	if err != nil {
		return deskView{}, err
	}
	view := deskView{Answer: "You get no news by mail", Where: []crumb{{Text: "Your account", Href: "/account"}},
		Lead: []string{"One mail tells of all that is new since the last. It names no people."}}
	now := accounts.NoticeWish{EveryMin: accounts.DefaultEvery, Kinds: []string{string(notice.ToSee), string(notice.StopFailed), string(notice.Substitution)}}
	if w != nil {
		now = *w
		view.Answer = "News goes to " + w.Mail
		if !w.Confirmed {
			view.Answer = "Your address is not confirmed yet"
			view.Lead = append(view.Lead, "A mail with a link is sent to "+w.Mail+". Until it is opened nothing else is sent there.")
		}
		view.Groups = []deskGroup{{Title: "No more", Rows: []deskRow{{Name: "End the mails and forget the address", Do: []deskButton{{"/account/notices/end", "End them", nil}}}}}}
	}
	if ways.Mail.Host == "" {
		view.Lead = append(view.Lead, "Your firm has set no mail server yet: nothing is sent until the office does.")
	}
	view.Form = form{Submit: "Keep it", Fields: []field{
		{Kind: "text", Name: "mail", Label: "Your mail address", Value: now.Mail, Auto: "email"},
		kindsField(now.Kinds),
		{Kind: "decimal", Name: "every_min", Label: "At least between two mails", Unit: "min", Value: strconv.Itoa(now.EveryMin)},
		{Kind: "text", Name: "quiet_from", Label: "No mail from", Hint: "Such as 20:00. What waits then is told afterwards.", Value: minutesText(now, now.QuietFrom)},
		{Kind: "text", Name: "quiet_to", Label: "Until", Hint: "Such as 06:30. Both empty: at any time.", Value: minutesText(now, now.QuietTo)}}}
	return view, nil
}

func minutesText(w accounts.NoticeWish, m int) string {
	if w.QuietFrom == w.QuietTo {
		return ""
	}
	return clockWords(m)
}

// minutesOf reads a time of day; an empty one is midnight.
func minutesOf(name, text string) (int, error) {
	if text = strings.TrimSpace(text); text == "" {
		return 0, nil
	}
	m, ok := timeOfDay(text)
	if !ok {
		return 0, &jobs.InputError{Field: name, Value: text, Range: "a time of day, such as 20:00"}
	}
	return m, nil
}

func getWish(v *visit) error {
	view, err := wishView(v)
	if err != nil {
		return err
	}
	return v.desk(view)
}

func postWish(v *visit) error {
	view, err := wishView(v)
	if err != nil {
		return err
	}
	n := accounts.NoticeWish{Mail: v.c.FormValue("mail"), Kinds: kindsOf(v)}
	if n.EveryMin, err = strconv.Atoi(strings.TrimSpace(v.c.FormValue("every_min"))); err != nil {
		return v.refuse(view, &jobs.InputError{Field: "every_min", Value: "not a whole number", Range: fmt.Sprintf("%d to %d", accounts.MinEvery, accounts.MaxEvery), Unit: "min"})
	}
	if n.QuietFrom, err = minutesOf("quiet_from", v.c.FormValue("quiet_from")); err != nil {
		return v.refuse(view, err)
	}
	if n.QuietTo, err = minutesOf("quiet_to", v.c.FormValue("quiet_to")); err != nil {
		return v.refuse(view, err)
	}
	w, _, _ := v.caller()
	confirm, err := v.deps.Accounts.SetNoticeWish(v.ctx, w, n)
	if err != nil {
		return v.refuse(view, err)
	}
	if confirm {
		if err := v.deps.Notices.AskToConfirm(v.ctx, w.Company, w.Person); err != nil {
			return err
		}
	}
	return v.see("/account/notices")
}

func postEndWish(v *visit) error {
	if err := v.deps.Accounts.EndNoticeWish(v.ctx, v.who.Company, v.who.Person); err != nil {
		return err
	}
	return v.see("/account/notices")
}

// getStop only shows a button: programs look at links in mails before people do.
func getStop(v *visit) error {
	return v.desk(deskView{Answer: "Stop these mails", Lead: []string{"Your address is forgotten. On your own page you can ask for them again."}, Form: form{Submit: "Stop them"}})
}

func postStop(v *visit) error {
	if err := v.deps.Accounts.StopNotices(v.ctx, v.param("link")); err != nil {
		return v.linkRefused(err)
	}
	return v.desk(deskView{Answer: "No more mails are sent", Lead: []string{"Your address is forgotten here."}})
}

func getConfirmAddress(v *visit) error {
	return v.desk(deskView{Answer: "Is this your address?", Lead: []string{"News of your firm's work is sent to it then."}, Form: form{Submit: "Yes, send them here"}})
}

func postConfirmAddress(v *visit) error {
	if err := v.deps.Accounts.ConfirmNotices(v.ctx, v.param("link")); err != nil {
		return v.linkRefused(err)
	}
	return v.desk(deskView{Answer: "Your address is confirmed", Lead: []string{"What waits for you is told there from now on."}})
}

func (v *visit) linkRefused(err error) error {
	if !isNotFound(err) {
		return err
	}
	v.c.Status(404)
	return v.desk(deskView{Answer: "This link opens nothing", Lead: []string{"It is for an address that was changed or forgotten since."}})
}
