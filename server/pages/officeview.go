package pages

import "time"

// officeView is a page of the office: the answer, what is wrong, one action, then parts of tables and lines.
type officeView struct {
	frame
	Where    []crumb
	Answer   string
	Stops    []string
	Warnings []string
	Measured []measuredLine
	Lead     []string
	Do       step
	Picture  picture
	Cautions []cautionLine
	Parts    []officePart
	Notes    []string
}

// officePart is one part of such a page. What is closed opens when asked.
type officePart struct {
	Title  string
	Anchor string // where a link from another page leads
	Closed bool
	Empty  string // said where there is nothing in it
	Quote  string // somebody's own words
	Lead   []string
	Asked  []pair
	Chart  curveChart
	Tables []table
	Says   []string
	Rows   []officeRow
	Steps  []step
}

// Bare tells whether there is nothing in the part.
func (p officePart) Bare() bool {
	return p.Quote == "" && len(p.Asked) == 0 && len(p.Tables) == 0 && len(p.Says) == 0 && len(p.Rows) == 0
}

// officeRow is one line of a part: what, what there is to say, what is to be minded, what can be done.
type officeRow struct {
	Name  string
	Says  []string
	Mark  string
	Steps []step
}

// curveChart is where a third-octave chart is drawn, with its result in words.
type curveChart struct {
	Base, Alt string
	V         int // how many records it was drawn from, so that a browser asks again when there are more
}

// dayWords is a day of the record as people read it; what is no day stands as it was written.
func dayWords(s string) string {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return s
	}
	return t.Format("2 Jan 2006")
}

// stamp is a time of the record as people read it.
func (v *visit) stamp(s string) string {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		return s
	}
	return v.when(t)
}
