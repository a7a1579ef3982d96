package app

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
)

// serving is what a server leaves for commands that want to ask it something.
type serving struct {
	URL string `json:"url"`
}

func servingPath(dir string) string { return filepath.Join(dir, "serving.json") }

func noteServing(dir, url string) error {
	b, err := json.Marshal(serving{URL: url})
	if err != nil {
		return err
	}
	// Put in place whole: a health check may read it at any moment.
	f, err := os.CreateTemp(dir, ".serving-*")
	if err != nil {
		return fmt.Errorf("note where the server is: %w", err)
	}
	defer os.Remove(f.Name())
	if _, err := f.Write(b); err != nil {
		return fmt.Errorf("note where the server is: %w", err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("note where the server is: %w", err)
	}
	return os.Rename(f.Name(), servingPath(dir))
}
