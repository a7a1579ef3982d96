package app

import (
	"fmt"

	"github.com/alecthomas/kong"
)

// ServeConfig is what the flags of server serve come to.
func ServeConfig(args ...string) (Config, error) {
	var c serveCmd
	p, err := kong.New(&c)
	if err != nil {
		return Config{}, fmt.Errorf("read the flags: %w", err)
	}
	if _, err := p.Parse(args); err != nil {
		return Config{}, fmt.Errorf("read the flags: %w", err)
	}
	return c.config(Folder{})
}

// ServeFlags lists the flags of server serve.
func ServeFlags() (names []string, err error) {
	p, err := kong.New(new(serveCmd))
	if err != nil {
		return nil, err
	}
	for _, f := range p.Model.Flags {
		if f.Name != "help" {
			names = append(names, f.Name)
		}
	}
	return names, nil
}
