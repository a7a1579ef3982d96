package app

import (
	"encoding/json"
	"fmt"
	"path/filepath"

	"tacet/sync/durable"
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
	if err := durable.File(servingPath(dir), durable.Secret, durable.Bytes(b)); err != nil {
		return fmt.Errorf("note where the server is: %w", err)
	}
	return nil
}
