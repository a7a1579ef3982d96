package pages

import (
	"strings"

	"tacet/jobs"
	"tacet/server/accounts"
)

var (
	_ = register(Page{Name: "desk", Path: "/devices", Roles: desk, Get: getDevices, View: deskView{}, When: hasAccounts})
	_ = register(Page{Path: "/devices/revoke", Roles: desk, Post: postRevoke, When: hasAccounts})
)

// deviceRows are the devices of the company that fit, with a button that cuts each off.
func (v *visit) deviceRows(action string, fits func(accounts.Device) bool) ([]deskRow, error) {
	list, err := v.deps.Accounts.DevicesOf(v.ctx, v.who.Company)
	if err != nil {
		return nil, err
	}
	var rows []deskRow
	for _, d := range list {
		if !fits(d) {
			continue
		}
		row := deskRow{Name: d.Name, Says: []string{"Used by " + strings.Join(d.Logins, ", ") + ". Enrolled " + v.clock(d.Made) + ".", "Id " + d.ID}}
		if d.State == "active" {
			row.Do = []deskButton{{action, "Cut it off", []hidden{{"device", d.ID}}}}
		} else {
			row.Name += ", cut off"
		}
		rows = append(rows, row)
	}
	return rows, nil
}

func getDevices(v *visit) error {
	rows, err := v.deviceRows("/devices/revoke", func(accounts.Device) bool { return true })
	if err != nil {
		return err
	}
	if len(rows) == 0 {
		return v.desk(deskView{Answer: "No device is enrolled yet", Where: []crumb{peopleCrumb}, Links: []step{{"Make a code for a device of your own", "/account"}, {"Make one for somebody else", "/people"}, {"What could not enter the record", "/aside"}},
			Lead: []string{"A phone, tablet or laptop is enrolled with a code that is good once. Whoever has an account makes one for themselves; for others it is made on the page of the person."}})
	}
	return v.desk(deskView{Answer: jobs.Count(len(rows), "device"), Where: []crumb{peopleCrumb},
		Lead:   []string{"A device that is cut off gets nothing and sends nothing from its next request on. What is on it already stays on it: a lost one shows its finder what it holds, unless its disk is encrypted and it is locked."},
		Links:  []step{{"What could not enter the record", "/aside"}},
		Groups: []deskGroup{{Title: "Devices", Empty: "None is enrolled yet.", Rows: rows}}})
}

func postRevoke(v *visit) error {
	if err := v.deps.Accounts.RevokeOf(v.ctx, v.who.Company, v.c.FormValue("device")); err != nil {
		return err
	}
	return v.see("/devices")
}
