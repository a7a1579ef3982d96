package jobs

var _ = registerKind[DescribeRoom]("room", 1)

// DescribeRoom describes a room.
type DescribeRoom struct {
	Common
	Code     string   `json:"code" on:"room"`
	Name     string   `json:"name,omitempty"`
	VolumeM3 *float64 `json:"volume_m3,omitempty"`
	RoomFacts
}

// Valid checks code, name and volume.
func (d *DescribeRoom) Valid() error {
	if err := code("code", d.Code); err != nil {
		return err
	}
	if err := text("name", d.Name, 0, 200); err != nil {
		return err
	}
	if err := optional(VolumeRange, "volume_m3", d.VolumeM3); err != nil {
		return err
	}
	if err := d.RoomFacts.valid(); err != nil {
		return err
	}
	return d.Common.valid()
}

// Allowed is [mayDescribe].
func (d *DescribeRoom) Allowed(j *Job, a Author) error { return mayDescribe(a, j.Room(d.Code) != nil) }

func (d *DescribeRoom) names(j *Job) []Ref {
	if r := j.Room(d.Code); r != nil {
		return bases(j, r.records)
	}
	return nil
}

func (d *DescribeRoom) apply(j *Job, r *Record) {
	room := j.Room(d.Code)
	if room == nil {
		room = &Room{Code: d.Code}
		j.Rooms = append(j.Rooms, room)
	}
	room.records = append(room.records, r)
}

func (d *DescribeRoom) says(*Job, *Record) string { return "room " + called(d.Code, d.Name) }
