package jobs

import (
	"encoding/json"

	"tacet/acoustics"
)

// Flanking is what is known of the paths beside the surface: "unknown", or a list, which may be empty.
type Flanking struct {
	Unknown bool
	Paths   []acoustics.FlankingPath
}

// UnmarshalJSON reads the word or the list.
func (f *Flanking) UnmarshalJSON(data []byte) error {
	if len(data) > 0 && data[0] == '"' {
		var word string
		if err := json.Unmarshal(data, &word); err != nil || word != "unknown" {
			return &InputError{Value: word, Range: `"unknown" or a list of paths`}
		}
		f.Unknown = true
		return nil
	}
	return acoustics.Decode(data, &f.Paths)
}

// MarshalJSON writes what UnmarshalJSON reads.
func (f Flanking) MarshalJSON() ([]byte, error) {
	if f.Unknown {
		return []byte(`"unknown"`), nil
	}
	if f.Paths == nil {
		return []byte("[]"), nil
	}
	return json.Marshal(f.Paths)
}

// valid asks the room calculation, the one place that knows what a path needs.
func (f Flanking) valid(path string) error {
	if f.Unknown {
		return nil
	}
	if len(f.Paths) > 40 {
		return &InputError{Field: path, Value: itoa(len(f.Paths)), Range: "at most 40 paths"}
	}
	rw, area, volume := 50.0, 10.0, 30.0
	return acoustics.RoomInput{RwDB: &rw, SeparatingAreaM2: &area, ReceivingVolumeM3: &volume, Flanking: f.Paths}.Valid()
}
