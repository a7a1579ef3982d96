package pages

import (
	"strconv"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

var (
	_ = register(Page{Name: "desk", Path: "/aside", Roles: desk, Get: getAsides, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/aside/:device", Roles: desk, Get: getAside, Post: postAside, View: deskView{}, When: hasAccounts, Looks: "what a device sent after it was cut off"})
)

var asideCrumb = crumb{Text: "Set aside", Href: "/aside"}

// deviceNames are the names of the company's devices by id.
func (v *visit) deviceNames() (nameList, error) {
	list, err := v.deps.Accounts.DevicesOf(v.ctx, v.who.Company)
	names := nameList{}
	for _, d := range list {
		names[d.ID] = d.Name
	}
	return names, err
}

// getAsides lists the devices of which something lies aside.
func getAsides(v *visit) error {
	as, err := v.deps.Record.Asides(v.ctx, v.who.Company, "")
	if err != nil {
		return err
	}
	names, err := v.deviceNames()
	if err != nil {
		return err
	}
	open := map[string]int{}
	var order []string
	for _, a := range as {
		if a.State != replica.AsideKept {
			continue
		}
		if open[a.Dev] == 0 {
			order = append(order, a.Dev)
		}
		open[a.Dev]++
	}
	group := deskGroup{Title: "Devices", Empty: "Nothing lies aside."}
	for _, dev := range order {
		group.Rows = append(group.Rows, deskRow{Href: "/aside/" + dev, Name: names.of(dev), Says: []string{jobs.Capital(jobs.Count(open[dev], "record")) + " to be looked at."}})
	}
	return v.desk(deskView{Answer: "What could not enter the record", Where: []crumb{{Text: "Devices", Href: "/devices"}},
		Lead:   []string{"Sent by devices after they were cut off, or by a copy of a device. Nothing of it counts, and nothing is lost."},
		Groups: []deskGroup{group}})
}

func (v *visit) asideView() (deskView, error) {
	as, err := v.deps.Record.Asides(v.ctx, v.who.Company, v.param("device"))
	if err != nil {
		return deskView{}, err
	}
	if len(as) == 0 {
		return deskView{}, jobs.ErrNotFound
	}
	names, err := v.deviceNames()
	if err != nil {
		return deskView{}, err
	}
	all, err := v.namesOfAll()
	if err != nil {
		return deskView{}, err
	}
	open := 0
	group := deskGroup{Title: "Records"}
	for _, a := range as {
		row := deskRow{Name: "Number " + strconv.FormatInt(a.Run, 10) + ": " + strings.ReplaceAll(a.Kind, "_", " ") + ", " + all.of(a.Job),
			Says: []string{v.name(a.By) + ", by its own clock " + v.when(a.Clk.Time()) + ", here " + v.when(time.UnixMilli(a.At)) + ".", sentence(a.Says)}}
		switch a.State {
		case replica.AsideKept:
			open++
		case replica.AsideAdmitted:
			row.Name += ", taken in"
		case replica.AsideRefused:
			row.Name += ", not taken"
		}
		group.Rows = append(group.Rows, row)
	}
	view := deskView{Answer: jobs.Capital(jobs.Count(open, "record")) + " of " + names.of(v.param("device")) + " to be looked at", Where: []crumb{{Text: "Devices", Href: "/devices"}, asideCrumb}, Groups: []deskGroup{group}}
	if open == 0 {
		return view, nil
	}
	view.Lead = []string{"What is taken in comes into its place in the record and waits there for a supervisor's answer, as anything else that is held. Take in what was recorded before the device was lost, and not what came after."}
	view.Form = form{Submit: "Do that", Fields: []field{
		{Kind: "choice", Name: "answer", Label: "These records", Options: []option{{Value: "admit", Label: "Take them in", Hint: "All, or up to the number below."}, {Value: "refuse", Label: "Take nothing more of this device", Hint: "They stay here, with the reason."}}},
		{Kind: "decimal", Name: "upto", Label: "Up to number", Hint: "All if left empty."},
		{Kind: "text", Name: "reason", Label: "Why nothing more is taken"}, confirmField()}}
	return view, nil
}

func getAside(v *visit) error {
	view, err := v.asideView()
	if err != nil {
		return err
	}
	return v.desk(view)
}

func postAside(v *visit) error {
	view, err := v.asideView()
	if err != nil {
		return err
	}
	device, text := v.param("device"), strings.TrimSpace(v.c.FormValue("upto"))
	upto := int64(0)
	if text != "" {
		if upto, err = strconv.ParseInt(text, 10, 64); err != nil || upto < 1 {
			return v.refuse(view, &jobs.InputError{Field: "upto", Value: "not a number of the list", Range: "1 and up"})
		}
	}
	if err := v.confirmed(); err != nil {
		return v.refuse(view, err)
	}
	switch reason := strings.TrimSpace(v.c.FormValue("reason")); v.c.FormValue("answer") {
	case "admit":
		_, err = v.deps.Record.AdmitAside(v.ctx, v.who.Company, device, upto)
	case "refuse":
		if reason == "" {
			return v.refuse(view, &jobs.InputError{Field: "reason", Value: "missing"})
		}
		_, err = v.deps.Record.RefuseAside(v.ctx, v.who.Company, device, reason)
	default:
		return v.refuse(view, &jobs.InputError{Field: "answer", Value: "missing", Range: "one of the two"})
	}
	if err != nil {
		return v.refuse(view, err)
	}
	return v.see("/aside/" + device)
}
