package acoustics_test

import (
	"testing"

	"tacet/acoustics"
)

// A band has one spelling: two of them would be two values, of which chance chooses one.
func TestBandsHaveOneSpelling(t *testing.T) {
	for _, in := range []string{`{"100":50,"+100":20}`, `{"0100":20}`, `{"-100":1}`, `{"1e2":1}`, `{"100 ":1}`} {
		var c acoustics.Curve
		if err := acoustics.Decode([]byte(in), &c); err == nil {
			t.Errorf("%s is read as %v", in, c)
		}
	}
	var c acoustics.Curve
	if err := acoustics.Decode([]byte(`{"5000":20,"100":50}`), &c); err != nil || c.Len() != 2 {
		t.Errorf("%v, %v", c, err)
	}
}
