package paper

import (
	"errors"
	"io"
)

// Write prints the sheets into one PDF, each surface from a page of its own.
func Write(w io.Writer, sheets []Sheet) error {
	return errors.New("paper: pages are not laid out yet")
}
