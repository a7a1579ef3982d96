package accounts

import (
	"slices"

	"tacet/jobs"
)

// Action is something that a role may or may not do.
type Action string

// The actions that the server itself decides about. What a role may record is not among them: that is a rule of the record, in package
// jobs, and is asked again when an entry is received; which pages a role may open stands at each page.
const (
	SyncRecords Action = "sync records" // push, pull, photos of the jobs of one's company
	SeePeople   Action = "see people"   // names and roles of one's company
	SeePages    Action = "see pages"    // sign in with a browser
)

// rules is the whole table: who may do what. What is not in it nobody may do.
var rules = map[Action][]jobs.Role{
	SyncRecords: {jobs.Site, jobs.Supervisor, jobs.Office, jobs.Owner},
	SeePeople:   {jobs.Site, jobs.Supervisor, jobs.Office, jobs.Owner},
	SeePages:    {jobs.Site, jobs.Supervisor, jobs.Office, jobs.Owner},
}

// RolesOf lists who may do what.
func RolesOf(what Action) []jobs.Role { return slices.Clone(rules[what]) }

// May tells whether role may do what.
func May(role jobs.Role, what Action) bool { return slices.Contains(rules[what], role) }
