package paper

import (
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

var longHead = Head{Firm: "Quillmarsh Linings", Job: strings.Repeat("7b Lantern Row ", 12), Site: strings.Repeat("Marlsea ", 30), Printed: printed, Version: "57 records", Code: "7KQ2-M4XR-9TBA-P"}

func stuffedDelivery() Delivery {
	d := Delivery{Head: longHead, Total: "about 436 kg", Here: "Nothing more is to come of: " + strings.Repeat("board; ", 60), Stacks: []string{strings.Repeat("not more than so high ", 12)},
		Checks: []string{"K01: read the print"}, Cautions: []string{"Load: ask."}}
	for i := range 40 {
		d.Items = append(d.Items, DeliveryItem{What: fmt.Sprintf("Item %d %s", i, strings.Repeat("Zwischenwand", i%9)), For: "C1 layers 3, 5; W1 layer 4", ToCome: "12 sheets", KgEach: "36.3 kg", Stack: "19 sheets", Carry: "Two people, lifter"})
		d.Before = append(d.Before, fmt.Sprintf("2026-11-0%d: 12 sheets", i%9+1))
	}
	return d
}

func stuffedSurvey() Survey {
	words := func(n int, w string) (out []string) {
		for i := range n {
			out = append(out, fmt.Sprintf("%s %d", w, i))
		}
		return out
	}
	s := Survey{Head: longHead, Client: strings.Repeat("Odette Fenwarden ", 6), Words: strings.Repeat("it is as if they were in the room ", 20), Cautions: words(3, "caution"),
		Enquiry: SurveyLists{Asks: words(9, "asker"), Answers: words(4, "answer"), CannotPromise: words(4, "not promised"), Agreements: words(9, "agreement"), Noise: words(6, "noise"), Tests: words(8, "test"),
			Known: []string{"seen", "drilled", "drawn", "guessed"}, Services: words(13, "service"), Hazards: words(7, "hazard"), Moisture: words(12, "moisture"), Signal: words(3, "signal"),
			Kinds: words(7, "kind"), Ways: words(13, "way round"), Decisions: []string{"treat", "leave", "tell client", "not seen"}}}
	for i := range 3 {
		s.Rooms = append(s.Rooms, SurveyRoom{Code: fmt.Sprintf("R%d", i), Name: strings.Repeat("living room ", 8), LengthM: "4.2", WidthM: "3.6", HeightsM: "2.62, 2.6, 2.61"})
		s.Surfaces = append(s.Surfaces, SurveySurface{Code: fmt.Sprintf("W%d", i), Kind: "wall", Room: strings.Repeat("living room ", 8), WidthM: "4.2", HeightM: "2.6", Target: strings.Repeat("at least 43 dB ", 9),
			LoadLimit: "0.7", ThicknessLimit: "90", Structure: "(J1)", Existing: [][2]string{{strings.Repeat("brick ", 40), "215"}}})
	}
	return s
}

func stuffedTimeline() Timeline {
	t := Timeline{Head: longHead, Says: "120 entries, 118 of them count.", Proof: []string{"It proves that nothing was changed since."}}
	for i := 1; i <= 30; i++ {
		t.Layers = append(t.Layers, TimelineLayer{Surface: "C1", N: i, Specified: strings.Repeat("acoustic board ", 8), InPlace: "nothing yet", State: "covered unseen"})
		t.Parts = append(t.Parts, TimelinePart{Title: fmt.Sprintf("Part %d", i), None: "None."})
		e := TimelineEntry{N: i, Done: "2026-11-09 14:30", Recorded: "2026-11-09 14:31:02", Who: "Idris Vaugh, site", Where: "C1, layer 3, K23", Says: "Check: pass.", Hash: strings.Repeat("q", 43)}
		if i == 7 { // higher than a page
			e.More = []string{"Note: " + strings.Repeat("what was said and by whom ", 400)}
		}
		t.Entries = append(t.Entries, e)
	}
	return t
}

// Each paper numbers its pages, says when and from what it was printed, cuts nothing off and lays no word on another, however much
// is put on it.
func TestPapersHoldWhatIsPutOnThem(t *testing.T) {
	for name, test := range map[string]struct {
		write func(io.Writer) error
		words []string
	}{
		"delivery": {func(w io.Writer) error { return WriteDelivery(w, stuffedDelivery()) }, []string{"Item 39", "Two people, lifter", "36.3 kg", "19 sheets", "to a stack, at most", "Shortages", "received by", "Load: ask."}},
		"survey":   {func(w io.Writer) error { return WriteSurvey(w, stuffedSurvey()) }, []string{"asker 8", "0 to 10 today", "agreement 8", "service 12", "hazard 6", "moisture 11", "way round 12", "tell client", "215", "engineer: who decides", "caution 2"}},
		"empty": {func(w io.Writer) error {
			return WriteSurvey(w, Survey{Head: Head{Printed: printed, Version: "57 records"}})
		}, []string{"Room", "Surface", "phone, mail"}},
		"timeline": {func(w io.Writer) error { return WriteTimeline(w, stuffedTimeline()) }, []string{"Part 30", "acoustic board", "Hash " + strings.Repeat("q", 43), "It proves", "what was said and by whom Recorded"}},
	} {
		file := printedFile(t, test.write)
		got := text(t, file)
		for _, w := range append(test.words, "25 November 2026, 08:30 UTC", "57 records") {
			if !strings.Contains(squeeze(got), squeeze(w)) {
				t.Errorf("%s: %q is not on it", name, w)
			}
		}
		ms := regexp.MustCompile(`page (\d+) of (\d+)`).FindAllStringSubmatch(got, -1)
		for i, m := range ms {
			if m[1] != strconv.Itoa(i+1) || m[2] != strconv.Itoa(len(ms)) {
				t.Errorf("%s: page %d of %d says %q", name, i+1, len(ms), m[0])
			}
		}
		if len(ms) == 0 {
			t.Errorf("%s: no page is numbered", name)
		}
		standFree(t, file)
	}
}

// The last page of a survey is not a row of signatures alone: they stand below what was found.
func TestSurveyIsSignedWhereItEnds(t *testing.T) {
	for name, s := range map[string]Survey{"full": stuffedSurvey(), "empty": {Head: Head{Printed: printed}}} {
		pages := words(t, printedFile(t, func(w io.Writer) error { return WriteSurvey(w, s) }))
		said := map[string]bool{}
		for _, w := range pages[len(pages)-1] {
			said[w.Text] = true
		}
		if !said["surveyed"] || !said["engineer:"] {
			t.Errorf("%s: the last page has the signatures: %v, and what was found: %v", name, said["surveyed"], said["engineer:"])
		}
	}
}

// A check may not apply, which is said as large as the other answers.
// What is measured has a line to be written on.
func TestSheetLeavesRoomForThePen(t *testing.T) {
	file := pdf(t, ceilingSheet())
	got := text(t, file)
	for _, w := range []string{"not seen", "doesn't apply", "width of the gap mm length m", "why"} {
		if !strings.Contains(squeeze(got), squeeze(w)) {
			t.Errorf("%q is not on the sheet", w)
		}
	}
	high := map[string]float64{}
	for _, page := range words(t, file) {
		for _, w := range page {
			high[w.Text] = w.YMax - w.YMin
		}
	}
	for _, w := range []string{"doesn't", "apply"} {
		if high["yes"] == 0 || high[w] < high["yes"]-0.01 {
			t.Errorf("%q is %.1f points high, \"yes\" is %.1f", w, high[w], high["yes"])
		}
	}
}

// The letters of a photo rule are explained on every page where they stand, for the pages of a sheet hang apart.
func TestEachPageWithChecksExplainsItsPhotos(t *testing.T) {
	s := ceilingSheet()
	for len(s.Checks) < 60 {
		s.Checks = append(s.Checks, s.Checks...)
	}
	with := 0
	for i, ws := range words(t, pdf(t, s)) {
		page := ""
		for _, w := range ws {
			page += w.Text + " "
		}
		if !strings.Contains(page, "How: ") {
			continue
		}
		with++
		if !strings.Contains(squeeze(page), squeeze(photoLegend)) {
			t.Errorf("page %d has checks and says nothing of the letters:\n%s", i+1, page)
		}
	}
	if with < 3 {
		t.Errorf("%d pages with checks", with)
	}
}

// However many checks stand above it, whoever signs has the cautions before them.
func TestNoSignatureStandsAlone(t *testing.T) {
	for n := range 12 {
		s := ceilingSheet()
		for range n {
			s.Checks = append(s.Checks, s.Checks[0])
		}
		for i, page := range words(t, pdf(t, s)) {
			said := map[string]bool{}
			for _, w := range page {
				said[w.Text] = true
			}
			if said["typed"] && !(said["Cautions"] && said["Note"]) {
				t.Errorf("with %d more checks page %d has the signatures without what they stand for", n, i+1)
			}
		}
	}
}
