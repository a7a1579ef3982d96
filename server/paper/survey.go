package paper

import (
	"cmp"
	"io"
	"strings"
)

// Survey is the sheet that is taken along to a survey and filled in by pen: a page on who asks and what they hear, one for each
// room and one for each surface. What the record knows already is printed; the lists are those of the forms on the pages, so that
// it is typed in later without thinking.
type Survey struct {
	Head
	Client, Words string // who asks, and what they hear in their own words, as far as known
	Enquiry       SurveyLists
	Rooms         []SurveyRoom
	Surfaces      []SurveySurface
	Cautions      []string
}

// SurveyLists are the words that are ticked.
type SurveyLists struct {
	Asks, Answers, CannotPromise, Agreements []string
	Noise                                    []string
	Tests, Known                             []string
	Services, Hazards, Moisture, Signal      []string
	Kinds, Ways, Decisions                   []string
}

// SurveyRoom is a room as far as it is known, in words.
type SurveyRoom struct {
	Code, Name, Level, LengthM, WidthM, HeightsM, Use, Stays, Access string
}

// SurveySurface is a surface as far as it is known, in words.
type SurveySurface struct {
	Code, Kind, Room, WidthM, HeightM, Target, LoadLimit, ThicknessLimit, Structure string
	Existing                                                                        [][2]string // what, and how thick
}

// WriteSurvey prints the sheet; without rooms or surfaces it has an empty page of each.
func WriteSurvey(w io.Writer, s Survey) error {
	s.Title = cmp.Or(s.Title, "Survey sheet")
	d := newDocument(s.Head)
	if err := d.open("Fill in by pen. Write what you saw, and how you know it: what is guessed goes as an assumption into the quote."); err != nil {
		return err
	}
	d.enquiryPage(s)
	rooms, surfaces := s.Rooms, s.Surfaces
	if len(rooms) == 0 {
		rooms = []SurveyRoom{{}}
	}
	if len(surfaces) == 0 {
		surfaces = []SurveySurface{{}}
	}
	for _, r := range rooms {
		d.fresh()
		d.roomPage(r, s.Enquiry, s.Cautions)
	}
	for i, f := range surfaces {
		d.fresh()
		room := 0.0
		if i == len(surfaces)-1 {
			room = signHigh
		}
		d.surfacePage(f, s.Enquiry, room)
	}
	d.signatures("surveyed by", "date", "typed in by", "date")
	return d.finish(w)
}

// fresh turns to a page of its own.
func (d *document) fresh() {
	d.pdf.AddPage()
	d.y = margin
	d.furtherHead()
}

func (d *document) enquiryPage(s Survey) {
	l := s.Enquiry
	d.ticks("Who asks", l.Asks)
	d.fields(blankField{label: "name", share: 2, known: s.Client}, blankField{label: "phone, mail", share: 2}, blankField{label: "owner of the structure", share: 2})
	d.fields(blankField{label: "deadline", share: 1.4}, blankField{label: "budget", share: 1.2}, blankField{label: "who requires a test", share: 1.8}, blankField{label: "year of building", share: 1})
	d.ticks("Lease consent", l.Answers)
	d.ticks("Listed, conservation", l.Answers)
	d.subtitle("In their own words: what they hear, where, when, how often, since when")
	if s.Words != "" {
		d.paragraph("", plainType, s.Words)
		d.ruled("more", 2)
	} else {
		d.ruled("theirs, not ours", 3)
	}
	var rows [][]string
	for _, n := range l.Noise {
		rows = append(rows, []string{n})
	}
	d.grid([]column{{title: "kind of noise", wide: 62, bold: true}, {title: "heard", wide: 14, box: true}, {title: "0 to 10 today", wide: 22, write: true}, {title: "which rooms", wide: 44, write: true}, {title: "when, how often", wide: 44, write: true}}, rows, 8)
	d.fields(blankField{label: "tried already", share: 1}, blankField{label: "told to: council, landlord, anybody", share: 1})
	d.ruled("what “fixed” would sound like to them", 1)
	d.ticks("Told at once: can't be promised", l.CannotPromise)
	rowsOfTwo := halves(l.Agreements)
	d.need(9 + lineHigh*float64(len(rowsOfTwo)))
	d.subtitle("Agreements: tick what is agreed, write by whom")
	for _, half := range rowsOfTwo {
		d.ticksInRow(half)
	}
}

// halves pairs words to two in a row.
func halves(words []string) [][]string {
	var rows [][]string
	for i := 0; i < len(words); i += 2 {
		rows = append(rows, words[i:min(i+2, len(words))])
	}
	return rows
}

// lineHigh is how much room a box takes that has a line to write on behind it.
const lineHigh = gridBox + 3

// ticksInRow is words with a box before and a line to write on behind each, evenly over the page.
func (d *document) ticksInRow(words []string) {
	d.need(lineHigh)
	wide := inner / 2
	for i, w := range words {
		x := margin + float64(i)*wide
		d.frame(rule, x, d.y+1.5, gridBox, gridBox)
		d.text(x+gridBox+1.2, d.y+gridBox-0.4, "L", "", plainType-1, w)
		d.line(hair, x+gridBox+3+d.width("", plainType-1, w), d.y+gridBox+1.5, x+wide-3, d.y+gridBox+1.5)
	}
	d.y += lineHigh
}

func (d *document) roomPage(r SurveyRoom, l SurveyLists, cautions []string) {
	d.subtitle(strings.TrimSpace("Room " + r.Code + " " + r.Name))
	d.fields(blankField{label: "code", share: 0.7, known: r.Code}, blankField{label: "name people use", share: 2, known: r.Name}, blankField{label: "floor level", share: 1, known: r.Level}, blankField{label: "use", share: 1.6, known: r.Use})
	d.fields(blankField{label: "length", share: 1, known: r.LengthM, unit: "m"}, blankField{label: "width", share: 1, known: r.WidthM, unit: "m"}, blankField{label: "height at three points", share: 2.2, known: r.HeightsM, unit: "m"})
	d.fields(blankField{label: "furniture that stays, who lives there, pets, children", share: 1, known: r.Stays}, blankField{label: "hours, parking, stair width, lift, where sheets turn, water, power", share: 1, known: r.Access})
	d.ticks("Phone signal", l.Signal)
	d.subtitle("Listening and quick tests: " + join(", ", l.Tests...))
	known := []column{{title: "where exactly", wide: 38, write: true}, {title: "test", wide: 22, write: true}, {title: "what was found", wide: 66, write: true}}
	for _, k := range l.Known {
		known = append(known, column{title: k, wide: 15, box: true})
	}
	d.grid(known, make([][]string, 6), 9)
	d.subtitle("Services: which are here, which stay live, which need another trade")
	d.twoLists(l.Services, [3]string{"here", "stays live", "other trade"})
	d.subtitle("Hazards: stop and ask where one is found")
	d.twoLists(l.Hazards, [3]string{"found", "looked", "for others"})
	d.bullets(margin, inner, cautions)
	d.ticks("Moisture and air", l.Moisture)
}

// small sets a hint below a heading.
func (d *document) small(text string) {
	d.y = d.lines(margin, d.y-0.9, "", smallType, d.wrap("", smallType, inner, text)) + 0.6
}

// twoLists sets words in two columns, each with three boxes to tick.
func (d *document) twoLists(words []string, titles [3]string) {
	half := []column{{title: "", wide: 45}, {title: titles[0], wide: 16, box: true}, {title: titles[1], wide: 16, box: true}, {title: titles[2], wide: 16, box: true}}
	columns := append(append([]column{}, half...), half...)
	n := (len(words) + 1) / 2
	var rows [][]string
	for i := range n {
		row := []string{words[i], "", "", "", "–", "–", "–", "–"}
		if i+n < len(words) {
			row = []string{words[i], "", "", "", words[i+n]}
		}
		rows = append(rows, row)
	}
	d.grid(columns, rows, gridBox+1.2)
}

// surfacePage leaves room below its last part for what is to stand there.
func (d *document) surfacePage(s SurveySurface, l SurveyLists, below float64) {
	d.subtitle("Surface " + s.Code)
	d.fields(blankField{label: "code: W1, C1, F1", share: 1, known: s.Code}, blankField{label: "room", share: 1.8, known: s.Room}, blankField{label: "what is on the other side", share: 2}, blankField{label: "to be reached, and why", share: 2.4, known: s.Target})
	if s.Kind == "" {
		d.ticks("Kind", l.Kinds)
	}
	d.fields(blankField{label: "width, or length of a run", share: 1.2, known: s.WidthM, unit: "m"}, blankField{label: "height, or girth", share: 1, known: s.HeightM, unit: "m"}, blankField{label: "openings: width × height each", share: 2, unit: "m"}, blankField{label: "kind", share: 1, known: s.Kind})
	d.subtitle("What exists, outward to the room")
	d.small("Masonry, studs or joists with centres, direction and span, pugging, boards, laths, voids. " + s.Structure)
	columns := []column{{title: "layer", wide: 72, write: true}, {title: "mm", wide: 16, write: true, right: true}, {title: "centres, direction, span", wide: 38, write: true}}
	for _, k := range l.Known {
		columns = append(columns, column{title: k, wide: 15, box: true})
	}
	var rows [][]string
	for _, e := range s.Existing {
		rows = append(rows, []string{e[0], e[1]})
	}
	for len(rows) < 6 {
		rows = append(rows, nil)
	}
	d.grid(columns, rows, 7.6)
	d.subtitle("Ways round it: tick each, leave none out")
	columns = []column{{title: "way", wide: 64}, {title: "heard", wide: 12, box: true}}
	for _, k := range l.Decisions {
		columns = append(columns, column{title: k, wide: 16, box: true})
	}
	columns = append(columns, column{title: "photo", wide: 12, box: true}, column{title: "note", wide: 98 - 16*float64(len(l.Decisions)), write: true})
	rows = nil
	for _, w := range l.Ways {
		rows = append(rows, []string{w})
	}
	d.grid(columns, rows, gridBox+1)
	d.need(9 + 3*fieldHigh + gridBox + 2 + below)
	d.subtitle("Limits, load and fire")
	d.fields(blankField{label: "thickness or headroom that may go", share: 1.4, known: s.ThicknessLimit, unit: "mm"}, blankField{label: "lowest point: door, window, stair, light", share: 1.7, unit: "mm"}, blankField{label: "floor may rise", share: 1, unit: "mm"}, blankField{label: "door undercut, threshold", share: 1.3, unit: "mm"})
	d.fields(blankField{label: "joists: size, span, sag, cracks, water", share: 2.4}, blankField{label: "engineer: who decides", share: 1.6}, blankField{label: "load agreed", share: 1, known: s.LoadLimit, unit: "kN/m²"})
	d.ticks("Fire", []string{"separates dwellings", "protects a stair", "holds a beam", "none of these"})
	d.fields(blankField{label: "fire period wanted, and who says so", share: 1.5}, blankField{label: "sockets and switches: how many, back to back?", share: 1.5}, blankField{label: "steel, pipes, flue, built-in joists", share: 1.6})
}
