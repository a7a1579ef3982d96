package outcomes

// grouping sorts jobs into a few levels, to show the rate of complaints in each.
type grouping struct {
	code, title string
	levels      []string
	of          func(*Facts) string
}

const (
	yes     = "yes"
	no      = "no"
	unknown = "not known"
)

// groupings in the order in which they are shown. The bands are our own, no source.
var groupings = []grouping{
	{"margin", "margin as quoted, dB", []string{"below 0", "0 to 3", "3 to 6", "6 and more", unknown}, func(f *Facts) string {
		return marginBand(f.margin())
	}},
	{"measured_margin", "margin of the sound test, dB", []string{"below 0", "0 to 3", "3 to 6", "6 and more", "not tested"}, func(f *Facts) string {
		if m := f.measuredMargin(); m != nil {
			return marginBand(m)
		}
		return "not tested"
	}},
	{"evidence", "mean evidence at stop checks", []string{"below 1", "1 to 2", "2 to 3", "3 and more", unknown}, func(f *Facts) string {
		e := f.evidence()
		switch {
		case e == nil:
			return unknown
		case *e < 1:
			return "below 1"
		case *e < 2:
			return "1 to 2"
		case *e < 3:
			return "2 to 3"
		}
		return "3 and more"
	}},
	{"covered_unseen", "a layer was covered unseen", []string{yes, no, unknown}, func(f *Facts) string {
		covered, unseen := f.covered()
		switch {
		case covered == 0:
			return unknown
		case unseen > 0:
			return yes
		}
		return no
	}},
	{"flanking_declined", "work on flanking declined", []string{yes, no}, func(f *Facts) string {
		if f.Declined > 0 {
			return yes
		}
		return no
	}},
	{"failed_checks", "checks that failed at work", []string{"none", "1 to 2", "3 and more"}, func(f *Facts) string {
		switch n := f.failed(); {
		case n == 0:
			return "none"
		case n <= 2:
			return "1 to 2"
		}
		return "3 and more"
	}},
	{"season", "half year when work ended", []string{"April to September", "October to March", unknown}, func(f *Facts) string {
		if f.Finished == nil {
			return unknown
		}
		if m := f.Finished.Month(); m >= 4 && m <= 9 {
			return "April to September"
		}
		return "October to March"
	}},
}

func marginBand(m *float64) string {
	switch {
	case m == nil:
		return unknown
	case *m < 0:
		return "below 0"
	case *m < 3:
		return "0 to 3"
	case *m < 6:
		return "3 to 6"
	}
	return "6 and more"
}

// margin is the lowest of the job's parts.
func (f *Facts) margin() *float64 {
	var least *float64
	for i := range f.Parts {
		if m := f.Parts[i].MarginDB; m != nil && (least == nil || *m < *least) {
			least = m
		}
	}
	return least
}

// measuredMargin is the lowest margin of the job's sound tests to their limits, positive on the good side.
func (f *Facts) measuredMargin() *float64 {
	var least *float64
	for _, t := range f.Tests {
		if t.LimitDB == nil || t.Early {
			continue
		}
		m := t.MeasuredDB - *t.LimitDB
		if lowerIsBetter(t.Quantity) {
			m = -m
		}
		if least == nil || m < *least {
			least = &m
		}
	}
	return least
}

// evidence is the mean over the job's parts that have stop checks.
func (f *Facts) evidence() *float64 {
	var sum, n float64
	for _, p := range f.Parts {
		if p.Evidence != nil {
			sum += *p.Evidence
			n++
		}
	}
	if n == 0 {
		return nil
	}
	sum /= n
	return &sum
}

func (f *Facts) covered() (covered, unseen int) {
	for _, p := range f.Parts {
		covered += p.Covered
		unseen += p.Unseen
	}
	return covered, unseen
}

func (f *Facts) failed() int {
	n := 0
	for _, p := range f.Parts {
		n += p.Failed
	}
	return n
}
