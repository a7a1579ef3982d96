package jobs

var _ = registerKind[DescribeSurface]("surface", 1)

// DescribeSurface describes a surface.
type DescribeSurface struct {
	Common
	SurfaceFacts
}

// Valid checks everything that needs no other entry.
func (d *DescribeSurface) Valid() error {
	if err := d.SurfaceFacts.valid(); err != nil {
		return err
	}
	return d.Common.valid()
}

func (f SurfaceFacts) valid() error {
	if err := code("code", f.Code); err != nil {
		return err
	}
	if err := choice("kind", f.Kind, SurfaceKinds()...); err != nil {
		return err
	}
	if f.Kind.Along() {
		if f.WidthM != nil || f.HeightM != nil {
			return &InputError{Field: "width_m", Value: "given", Hint: "a " + string(f.Kind) + " is measured by length_m and girth_m"}
		}
		if err := needed(SizeRange, "length_m", f.LengthM); err != nil {
			return err
		}
		if err := optional(SizeRange, "girth_m", f.GirthM); err != nil {
			return err
		}
	} else {
		if f.LengthM != nil || f.GirthM != nil {
			return &InputError{Field: "length_m", Value: "given", Hint: "a " + string(f.Kind) + " is measured by width_m and height_m"}
		}
		if err := needed(SizeRange, "width_m", f.WidthM); err != nil {
			return err
		}
		if err := needed(SizeRange, "height_m", f.HeightM); err != nil {
			return err
		}
	}
	for i, o := range f.Openings {
		path := "openings[" + itoa(i) + "]"
		if err := SizeRange.Check(path+".width_m", o.WidthM); err != nil {
			return err
		}
		if err := SizeRange.Check(path+".height_m", o.HeightM); err != nil {
			return err
		}
	}
	if len(f.Openings) > 0 && f.NetAreaM2() <= 0 {
		return &InputError{Field: "openings", Value: "larger than the surface", Hint: "net area must stay above 0 m²"}
	}
	if f.Structure != "" {
		if f.Side != 1 && f.Side != 2 {
			return &InputError{Field: "side", Value: orMissing(map[bool]string{true: "", false: itoa(f.Side)}[f.Side == 0]), Range: "1 or 2", Hint: "a surface on a structure is on one of its sides"}
		}
		if len(f.Existing) > 0 {
			return &InputError{Field: "existing", Value: "given", Hint: "the structure " + f.Structure + " says what exists"}
		}
	} else if f.Side != 0 {
		return &InputError{Field: "side", Value: itoa(f.Side), Hint: "only a surface on a structure has a side"}
	}
	if err := validExisting("existing", f.Existing); err != nil {
		return err
	}
	if err := optional(LoadRange, "load_limit_kn_m2", f.LoadLimit); err != nil {
		return err
	}
	if err := optional(DepthRange, "thickness_limit_mm", f.ThicknessLimit); err != nil {
		return err
	}
	if f.Flanking != nil {
		return f.Flanking.valid("flanking")
	}
	return nil
}

// Allowed is [mayDescribe].
func (d *DescribeSurface) Allowed(j *Job, a Author) error {
	s := j.Surface(d.Code)
	return mayDescribe(a, s != nil && len(s.records) > 0)
}

// Fits refuses a room or structure that the job does not have.
func (d *DescribeSurface) Fits(j *Job) error {
	if d.Room != "" && j.Room(d.Room) == nil {
		return &InputError{Field: "room", Value: d.Room, Hint: "no room has that code"}
	}
	if d.Structure != "" && j.Structure(d.Structure) == nil {
		return &InputError{Field: "structure", Value: d.Structure, Hint: "no structure has that code"}
	}
	return nil
}

func (d *DescribeSurface) names(j *Job) []Ref {
	if s := j.Surface(d.Code); s != nil {
		return bases(j, s.records)
	}
	return nil
}

func (d *DescribeSurface) apply(j *Job, r *Record) {
	s := j.surface(d.Code)
	s.records = append(s.records, r)
}

func (d *DescribeSurface) says(*Job, *Record) string {
	return words(string(d.Kind)) + " " + d.Code
}
