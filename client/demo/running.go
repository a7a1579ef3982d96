package demo

import (
	"context"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// runningFile holds the address of the server while a demonstration runs in a folder.
const runningFile = "running"

// Running returns the address of a demonstration's server that answers from this folder, nothing where none does. Two on
// one folder would move the devices of the first to the server of the second.
func Running(ctx context.Context, dir string) string {
	text, err := os.ReadFile(filepath.Join(dir, runningFile))
	if err != nil {
		return ""
	}
	at := strings.TrimSpace(string(text))
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, at+"/healthz", nil)
	if err != nil {
		return ""
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return "" // what ran there ended without putting the file away
	}
	if res.Body.Close() != nil || res.StatusCode != http.StatusOK {
		return ""
	}
	return at
}
