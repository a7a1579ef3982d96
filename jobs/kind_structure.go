package jobs

import "tacet/acoustics"

var _ = registerKind[DescribeStructure]("structure", 1)

// DescribeStructure describes what surfaces hang on: joists, a party wall.
type DescribeStructure struct {
	Common
	Code      string            `json:"code" on:"structure"`
	Name      string            `json:"name,omitempty"`
	Existing  []acoustics.Layer `json:"existing,omitempty"`
	LoadLimit *float64          `json:"load_limit_kn_m2,omitempty"`
}

// Valid checks code, layers and limit.
func (d *DescribeStructure) Valid() error {
	if err := code("code", d.Code); err != nil {
		return err
	}
	if err := text("name", d.Name, 0, 200); err != nil {
		return err
	}
	if err := validExisting("existing", d.Existing); err != nil {
		return err
	}
	if err := optional(LoadRange, "load_limit_kn_m2", d.LoadLimit); err != nil {
		return err
	}
	return d.valid()
}

// Allowed is [mayDescribe].
func (d *DescribeStructure) Allowed(j *Job, a Author) error {
	return mayDescribe(a, j.Structure(d.Code) != nil)
}

func (d *DescribeStructure) names(j *Job) []Ref {
	if s := j.Structure(d.Code); s != nil {
		return bases(j, s.records)
	}
	return nil
}

func (d *DescribeStructure) apply(j *Job, r *Record) {
	s := j.Structure(d.Code)
	if s == nil {
		s = &Structure{Code: d.Code}
		j.Structures = append(j.Structures, s)
	}
	s.records = append(s.records, r)
}

func (d *DescribeStructure) says(*Job, *Record) string {
	return "structure " + called(d.Code, d.Name)
}
