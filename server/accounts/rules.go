package accounts

import (
	"slices"

	"tacet/jobs"
)

// Action is something that a role may or may not do.
type Action string

// The actions. What a role may record is not among them: that is a rule of the record, in package jobs, and is asked again when an
// entry is received.
const (
	SyncRecords Action = "sync records"     // push, pull, photos of the jobs of one's company
	SeePeople   Action = "see people"       // names and roles of one's company
	SeePages    Action = "see pages"        // the server's pages
	Judge       Action = "judge"            // release, audit, rule
	Specify     Action = "specify"          // describe jobs and their build-ups
	CutDevices  Action = "cut devices off"  // revoke a device
	ManageUsers Action = "manage the users" // add people and give out codes
)

// rules is the whole table: who may do what. What is not in it nobody may do.
var rules = map[Action][]jobs.Role{
	SyncRecords: {jobs.Site, jobs.Supervisor, jobs.Office, jobs.Owner},
	SeePeople:   {jobs.Site, jobs.Supervisor, jobs.Office, jobs.Owner},
	SeePages:    {jobs.Site, jobs.Supervisor, jobs.Office, jobs.Owner},
	Judge:       {jobs.Supervisor, jobs.Owner},
	Specify:     {jobs.Supervisor, jobs.Office, jobs.Owner},
	CutDevices:  {jobs.Supervisor, jobs.Owner},
	ManageUsers: {jobs.Owner},
}

// May tells whether role may do what.
func May(role jobs.Role, what Action) bool { return slices.Contains(rules[what], role) }
