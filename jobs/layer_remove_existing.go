package jobs

import "tacet/acoustics"

// RemoveExisting is work that takes a layer of the existing structure away: a face stripped, boards lifted.
type RemoveExisting struct {
	// Existing counts the layers of the existing structure, from 1.
	Existing int `json:"existing"`
}

var _ = acoustics.RegisterKind("remove_existing", func() acoustics.Element { return RemoveExisting{} })

// Kind is "remove_existing".
func (RemoveExisting) Kind() string { return "remove_existing" }

// Valid checks the number.
func (r RemoveExisting) Valid(path string) error { return existingNumber(path, r.Existing) }

// MassKgM2 is 0: what is taken away is no added mass, and a load is not credited for it.
func (RemoveExisting) MassKgM2() float64 { return 0 }

// ThicknessMM is 0.
func (RemoveExisting) ThicknessMM() float64 { return 0 }

// Role is that of a cavity: the layer carries nothing.
func (RemoveExisting) Role() acoustics.Role { return acoustics.RoleCavity }

// Weighed is the layer as it is.
func (r RemoveExisting) Weighed(_, _ float64) acoustics.Element { return r }
