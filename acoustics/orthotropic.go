package acoustics

import "strings"

// orthotropicWords name sheets that bend differently along and across, or whose shape and not whose thickness makes their stiffness.
var orthotropicWords = []string{
	"corrugat", "profil", "trapez", "flut", "ribb", "orthotrop", "sandwich", "honeycomb", "hollow_core", "cassette", "cross_laminated", "clt", "standing_seam",
}

// refuseOrthotropic is the complaint about a kind or material that names such a sheet, nil for all others. There is no guess to give: their
// two critical frequencies take octaves out of the middle of the range.
func refuseOrthotropic(field, word string) error {
	lower := strings.ToLower(word)
	for _, w := range orthotropicWords {
		if strings.Contains(lower, w) {
			return &InputError{
				Field: field, Value: `"` + shorten(word) + `"`,
				Hint: "profiled, ribbed and layered sheets bend differently along and across and can't be predicted here; use a measured value",
			}
		}
	}
	return nil
}
