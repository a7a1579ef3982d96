package pages_test

import (
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
)

// node is an element of a page, as far as tests have to look at it.
type node struct {
	tag  string
	attr map[string]string
	kids []*node
	text string // of this element, without its children
}

// voids are elements without an end.
var voids = append([]string{"source"}, xml.HTMLAutoClose...)

// parsePage reads a page. It takes what our templates write, not all that is HTML.
func parsePage(t *testing.T, page string) *node {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, voids, xml.HTMLEntity
	root := &node{}
	open := []*node{root}
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("page does not parse: %v\n%s", err, page)
		}
		top := open[len(open)-1]
		switch tok := tok.(type) {
		case xml.StartElement:
			n := &node{tag: tok.Name.Local, attr: map[string]string{}}
			for _, a := range tok.Attr {
				n.attr[a.Name.Local] = a.Value
			}
			top.kids = append(top.kids, n)
			open = append(open, n)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			top.text += string(tok)
		}
	}
	if len(open) != 1 {
		t.Fatalf("%d elements are not closed", len(open)-1)
	}
	return root
}

// all lists what a selector finds: tag, .class, #id and [attr=value], joined as in a.do[href=/x].
func (n *node) all(selector string) []*node {
	var found []*node
	for _, k := range n.kids {
		if k.matches(selector) {
			found = append(found, k)
		}
		found = append(found, k.all(selector)...)
	}
	return found
}

func (n *node) matches(selector string) bool {
	for selector != "" {
		end := 1 + strings.IndexAny(selector[1:], ".#[")
		if end == 0 || selector[0] == '[' {
			end = len(selector)
		}
		part := selector[:end]
		selector = selector[end:]
		switch part[0] {
		case '.':
			if !slices.Contains(strings.Fields(n.attr["class"]), part[1:]) {
				return false
			}
		case '#':
			if n.attr["id"] != part[1:] {
				return false
			}
		case '[':
			key, value, given := strings.Cut(strings.Trim(part, "[]"), "=")
			have, ok := n.attr[key]
			if !ok || given && have != value {
				return false
			}
		default:
			if n.tag != part {
				return false
			}
		}
	}
	return true
}

// one is the only element that a selector finds.
func (n *node) one(t *testing.T, selector string) *node {
	t.Helper()
	found := n.all(selector)
	if len(found) != 1 {
		t.Fatalf("%d elements %s, want 1", len(found), selector)
	}
	return found[0]
}

// words is all text of an element, blanks made one.
func (n *node) words() string {
	var b strings.Builder
	n.write(&b)
	return strings.Join(strings.Fields(b.String()), " ")
}

func (n *node) write(b *strings.Builder) {
	b.WriteString(n.text)
	for _, k := range n.kids {
		b.WriteString(" ")
		k.write(b)
	}
}
