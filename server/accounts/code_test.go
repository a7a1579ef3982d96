package accounts

import (
	"crypto/rand"
	"strings"
	"testing"
)

func FuzzReadCode(f *testing.F) {
	for _, s := range []string{"", "7Q2M-0XHB-D9KT-4RWA", "7q2m 0xhb d9kt 4rwa", "OIL", strings.Repeat("-", 100), "7Q2M\x000XHB", "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		code := readCode(s)
		if code == "" {
			return
		}
		if len(code) != 16 || strings.Trim(code, crockford) != "" || readCode(code) != code {
			t.Errorf("%q was read as %q", s, code)
		}
	})
}

func TestNewCodesAreReadBack(t *testing.T) {
	seen := map[string]bool{}
	for range 1000 {
		code, err := newCode(rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		if readCode(code) != strings.ReplaceAll(code, "-", "") || seen[code] {
			t.Fatalf("code %s", code)
		}
		seen[code] = true
	}
}
