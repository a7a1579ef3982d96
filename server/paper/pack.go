package paper

import (
	"io"
	"time"

	"tacet/server/drawing"
)

// Pack is what a client is given when the work is done: in plain words what was done, as built, measured, not seen, and
// what they may and may not do with it.
type Pack struct {
	Firm    string
	Contact string // who to call
	Job     string
	Site    string
	To      string // whom the letter is for

	Printed time.Time // in the zone it is to be shown in
	Version string    // of the record: what this pack was printed from
	URL     string    // of the record, for the code on the first page; empty prints the bare Code
	Code    string    // readable code with its check character

	Open     []string // what is still to be put right or to be answered, on the first page
	Letter   []string // paragraphs
	Surfaces []PackSurface
	Tests    []PackTest
	// Substitutions and Corrected are what was changed and what was put right, a line each, with the reason.
	Substitutions []string
	Corrected     []string
	NotSeen       []string // what nobody saw before it was covered, and checks without an answer
	Unseen        string   // how many layers were covered unseen, as a sentence
	Fixing        []PackFixing
	Certificates  []string // of others: electrics, fire stopping
	Finish        []string // floor finish allowed, for each floor
	Care          []string // resealing, ventilation, weight
	Cautions      []string // with who decided
	Declined      []string // ways round that the client declined to have treated, or was told of
	FollowUps     []string // with their dates
	Privacy       string
}

// PackSurface is the as-built sheet of a surface.
type PackSurface struct {
	Surface, Name, Kind, Size string
	Section                   drawing.Section
	Layers                    []PackLayer
	// The sums over the added layers.
	SpecifiedKgM2, AchievedKgM2, ThicknessMM, LoadKNM2 float64
	Says                                               []string // predicted and measured, each with its quantity
	Photos                                             []PackPhoto
}

// PackLayer is one layer, specified beside installed.
type PackLayer struct {
	N                              int
	Specified, Installed           string // in words; Installed empty where nothing is in place
	SpecifiedKgM2, AchievedKgM2    float64
	SpecifiedMM, AchievedMM, Share float64
	State                          string
	Unseen                         bool
}

// PackPhoto is a photo of what is hidden now.
type PackPhoto struct {
	JPEG    []byte // empty where the photo has not arrived, or was erased
	Erased  string // what stands in its place where it was
	Caption string
}

// PackTest is one sound test.
type PackTest struct {
	Quantity, Rooms, Measured, Limit, Margin, Verdict, Predicted, By string
	Notes                                                            []string
}

// PackFixing is where one may and may not fix into a surface.
type PackFixing struct {
	Surface string
	Behind  string // frame and its centres, as recorded
	Plan    *Plan  // nil where no line was recorded
	May     []string
	MayNot  []string
}

// WritePack prints the pack.
func WritePack(w io.Writer, p Pack) error {
	d := &packForm{document: newDocument(Head{Title: "Handover pack", Firm: p.Firm, Job: p.Job, Site: p.Site, Printed: p.Printed, Version: p.Version, URL: p.URL, Code: p.Code}), pack: p}
	if err := d.firstPage(); err != nil {
		return err
	}
	for _, s := range p.Surfaces {
		if err := d.surface(s); err != nil {
			return err
		}
	}
	d.tests()
	d.list("What was changed on the way", p.Substitutions, "Nothing was substituted.")
	d.list("What was found wrong and put right", p.Corrected, "Nothing was recorded as wrong.")
	d.list("What was not seen", append(sentenceFirst(p.Unseen), p.NotSeen...), "Every layer was seen before it was covered, and every stop check was answered.")
	d.fixing()
	d.list("Floor finish", p.Finish, "")
	d.list("Looking after it", p.Care, "")
	d.list("Ways round it that stay", p.Declined, "")
	d.list("Certificates by others", p.Certificates, "None was recorded here. Keep those you were given with this pack.")
	d.list("Cautions, and who decided", p.Cautions, "")
	return d.finish(w)
}

func sentenceFirst(s string) []string {
	if s == "" {
		return nil
	}
	return []string{s}
}

// packForm lays a pack out, from the top of a page down.
type packForm struct {
	*document
	pack    Pack
	printed int       // photos so far
	trial   *packForm // where it is tried whether something fits
}

// firstPage is the letter, with what the firm will ask and keep.
func (d *packForm) firstPage() error {
	f, p := d.document.form, d.pack
	f.pdf.AddPage()
	f.y = margin
	right := pageWidth - margin
	if _, err := d.codeAt(right-qrSide, margin); err != nil {
		return err
	}
	wide := inner - qrSide - 8
	y := f.lines(margin, margin, "B", 20, f.wrap("B", 20, wide, "Handover pack"))
	y += 2
	y = f.lines(margin, y, "B", largeType, f.wrap("B", largeType, wide, p.Job)) + 0.6
	for _, line := range []string{siteOf(p.Job, p.Site), p.Firm, p.Contact, p.Printed.Format("2 January 2006")} {
		y = f.lines(margin, y, "", plainType, f.wrap("", plainType, wide, line)) + 0.4
	}
	f.y = max(y, margin+qrSide+6) + 2
	f.line(stout, margin, f.y, right, f.y)
	f.y += 5
	if p.To != "" {
		d.paragraph("", plainType+1, "To "+p.To)
	}
	if d.list("Still open on this day", p.Open, ""); len(p.Open) > 0 {
		f.y += 4
	}
	for _, para := range p.Letter {
		d.paragraph("", plainType+1, para)
	}
	d.list("We will ask you", p.FollowUps, "The dates are fixed when the work is signed off.")
	d.list("Your data", nil, p.Privacy)
	return nil
}
