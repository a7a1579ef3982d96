package app

import (
	"fmt"
	"strings"

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

// CommandNames lists every command of the server, as it is typed.
func CommandNames() (names []string, err error) {
	p, err := kong.New(new(commands), kong.Vars{"data": "", "version": ""})
	if err != nil {
		return nil, fmt.Errorf("read the commands: %w", err)
	}
	for _, n := range p.Model.Leaves(true) {
		var words []string
		for at := n; at != nil && at.Type == kong.CommandNode; at = at.Parent {
			words = append([]string{at.Name}, words...)
		}
		names = append(names, strings.Join(words, " "))
	}
	return names, nil
}
