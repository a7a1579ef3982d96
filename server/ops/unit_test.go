package ops_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// The unit says what systemd understands, and shuts the server in. Where systemd is not installed only the words are looked at.
func TestUnit(t *testing.T) {
	text, err := os.ReadFile("tacet.service")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"NoNewPrivileges=yes", "ProtectSystem=strict", "ProtectHome=yes", "PrivateTmp=yes", "MemoryDenyWriteExecute=yes", "DynamicUser=yes",
		"StateDirectory=tacet", "RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX", "CapabilityBoundingSet=", "Environment=TACET_DATA=/var/lib/tacet"} {
		if !strings.Contains(string(text), "\n"+line+"\n") {
			t.Errorf("the unit lacks %s", line)
		}
	}
	analyze, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("systemd-analyze is not installed: the unit is not verified")
	}
	// Verified as if the program were where it belongs.
	dir := t.TempDir()
	program := filepath.Join(dir, "tacet-server")
	if err := os.WriteFile(program, []byte("#!/bin/sh\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	unit := filepath.Join(dir, "tacet.service")
	if err := os.WriteFile(unit, []byte(strings.ReplaceAll(string(text), "/usr/local/bin/tacet-server", program)), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(analyze, "verify", "--man=no", unit).CombinedOutput(); err != nil || strings.Contains(string(out), "tacet.service:") {
		t.Errorf("verify: %v\n%s", err, out)
	}
	out, err := exec.Command(analyze, "security", "--offline=true", "--no-pager", unit).CombinedOutput()
	exposure := regexp.MustCompile(`exposure level for tacet.service: (\d+\.\d+)`).FindSubmatch(out)
	if exposure == nil {
		t.Fatalf("security: %v\n%s", err, out)
	}
	// 2.5 is our own bound, of a scale to 10.
	if level, err := strconv.ParseFloat(string(exposure[1]), 64); err != nil || level > 2.5 {
		t.Errorf("exposure %s, at most 2.5\n%s", exposure[1], out)
	}
	t.Logf("exposure %s", exposure[1])
}
