package jobs

import "slices"

// Role is what a person may do in a company.
type Role string

// The roles. An owner may do what a supervisor and the office may; a home that never joined a company has one owner.
const (
	Site       Role = "site"
	Supervisor Role = "supervisor"
	Office     Role = "office"
	Owner      Role = "owner"
)

// Roles lists the roles.
func Roles() []Role { return []Role{Site, Supervisor, Office, Owner} }

func (r Role) known() bool { return slices.Contains(Roles(), r) }

// Judges tells whether the role may release, audit and rule.
func (r Role) Judges() bool { return r == Supervisor || r == Owner }

// Specifies tells whether the role may describe jobs and specify build-ups.
func (r Role) Specifies() bool { return r == Supervisor || r == Office || r == Owner }

// Author is who records, on which device.
type Author struct {
	Person string // id, a UUID
	Role   Role
	// Reissued is set for an entry that is issued anew as a home joins a company: what was allowed there stays allowed.
	Reissued bool
}
