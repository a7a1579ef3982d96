package jobs

import "tacet/acoustics"

// RoomFacts is what a survey notes of a room besides its volume.
type RoomFacts struct {
	FloorLevel string    `json:"floor_level,omitempty"`
	LengthM    *float64  `json:"length_m,omitempty"`
	WidthM     *float64  `json:"width_m,omitempty"`
	HeightsM   []float64 `json:"heights_m,omitempty"` // at three points: old rooms are not square
	Use        string    `json:"use,omitempty"`
	Stays      string    `json:"stays,omitempty"`  // furniture that stays, who lives there
	Access     string    `json:"access,omitempty"` // hours, parking, stair, where sheets can turn, water and power
	Signal     string    `json:"signal,omitempty"`
}

// Signals lists how a phone fares in a room.
func Signals() []string { return []string{"yes", "no", "window"} }

func (f RoomFacts) valid() error {
	for _, t := range []struct{ field, v string }{{"floor_level", f.FloorLevel}, {"use", f.Use}, {"stays", f.Stays}, {"access", f.Access}} {
		if err := text(t.field, t.v, 0, 500); err != nil {
			return err
		}
	}
	if err := optional(SizeRange, "length_m", f.LengthM); err != nil {
		return err
	}
	if err := optional(SizeRange, "width_m", f.WidthM); err != nil {
		return err
	}
	if len(f.HeightsM) > 10 {
		return &InputError{Field: "heights_m", Value: itoa(len(f.HeightsM)), Range: "at most 10"}
	}
	for i, h := range f.HeightsM {
		if err := (acoustics.Range{Min: 0, Max: 100, Above: true, Unit: "m"}).Check("heights_m["+itoa(i)+"]", h); err != nil {
			return err
		}
	}
	if f.Signal != "" {
		return choice("signal", f.Signal, Signals()...)
	}
	return nil
}

// measuredVolume is length times width times the mean height, 0 where one of them is not known.
func (f RoomFacts) measuredVolume() float64 {
	if f.LengthM == nil || f.WidthM == nil || len(f.HeightsM) == 0 {
		return 0
	}
	sum := 0.0
	for _, h := range f.HeightsM {
		sum += h
	}
	return round(*f.LengthM * *f.WidthM * sum / float64(len(f.HeightsM)))
}
