package jobs_test

import (
	"strings"
	"testing"

	"tacet/jobs"
)

// Every changed character and every swap of neighbours is found; by trying them all.
func TestSheetCode(t *testing.T) {
	const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
	for _, surface := range []string{"C1", "F1", "W1", "X1"} {
		code := jobs.SheetCode(jobID, surface)
		if len(code) != 13 || code != jobs.SheetCode(jobID, strings.ToLower(surface)) {
			t.Fatalf("code %q", code)
		}
		typed := strings.NewReplacer("0", "O", "1", "l").Replace(strings.ToLower(jobs.FormatSheetCode(code)))
		if got, err := jobs.ParseSheetCode(typed); err != nil || got != code {
			t.Errorf("typed %q: %q, %v", typed, got, err)
		}
		for i := range code {
			for _, c := range alphabet {
				wrong := code[:i] + string(c) + code[i+1:]
				if _, err := jobs.ParseSheetCode(wrong); (err == nil) != (wrong == code) {
					t.Fatalf("%s for %s: %v", wrong, code, err)
				}
			}
			if i+1 < len(code) && code[i] != code[i+1] {
				swapped := code[:i] + string(code[i+1]) + string(code[i]) + code[i+2:]
				if _, err := jobs.ParseSheetCode(swapped); err == nil {
					t.Fatalf("%s passes for %s", swapped, code)
				}
			}
		}
	}
	for _, bad := range []string{"", "C1", strings.Repeat("0", 14), "ÄÖ", "UUUUUUUUUUUUU"} {
		if _, err := jobs.ParseSheetCode(bad); err == nil {
			t.Errorf("%q passes as a code", bad)
		}
	}
}
