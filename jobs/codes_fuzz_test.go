package jobs

import "testing"

// A code that people type from paper is read, or refused, and what was read is read again as itself.
func FuzzParseSheetCode(f *testing.F) {
	for _, s := range []string{"", "7Q2M-0XHB-D9KT-4", "7q2m 0xhb d9kt 4", "OIL", "\xff", "U*~$="} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		code, err := ParseSheetCode(s)
		if err != nil {
			return
		}
		if again, err := ParseSheetCode(code); err != nil || again != code {
			t.Errorf("%q was read as %q, then %q, %v", s, code, again, err)
		}
	})
}

func FuzzParseHash(f *testing.F) {
	f.Add("")
	f.Add(HashBlob([]byte("x")).String())
	f.Fuzz(func(t *testing.T, s string) {
		h, err := ParseHash(s)
		if err != nil || h.IsZero() {
			return
		}
		if again, err := ParseHash(h.String()); err != nil || again != h {
			t.Errorf("%q was read as %s, then %s, %v", s, h, again, err)
		}
	})
}
