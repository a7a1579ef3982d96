package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/server/drawing"
)

// stuffedPack has more of everything than any job, in long words and long lines; the firm and the house are invented.
func stuffedPack(t *testing.T) Pack {
	t.Helper()
	var portrait, wide bytes.Buffer
	for _, p := range []struct {
		to   *bytes.Buffer
		w, h int
	}{{&portrait, 300, 900}, {&wide, 900, 200}} {
		if err := jpeg.Encode(p.to, image.NewGray(image.Rect(0, 0, p.w, p.h)), nil); err != nil {
			t.Fatal(err)
		}
	}
	long := strings.Repeat("a line that goes on and on about what was found ", 8)
	many := func(n int, what string) (out []string) {
		for i := range n {
			out = append(out, fmt.Sprintf("%s %d: %s %s", what, i, long, strings.Repeat("x", 120)))
		}
		return out
	}
	p := Pack{Firm: "Quillmarsh Linings", Contact: long, Job: long, Site: long, To: long, Printed: printed, Version: "entry 128", URL: Payload("https://office.example.org", "7KQ2-M4XR-9TBA-P"),
		Code: "7KQ2-M4XR-9TBA-P", Open: many(4, "open"), Letter: many(5, "paragraph"), Substitutions: many(5, "substitution"), Corrected: many(20, "corrected"), NotSeen: many(20, "not seen"), Unseen: long,
		Certificates: many(3, "certificate"), Finish: many(2, "finish"), Care: many(3, "care"), Cautions: many(9, "caution"), Declined: many(3, "declined"), FollowUps: many(3, "date"), Privacy: long}
	for i := range 3 {
		s := PackSurface{Surface: fmt.Sprintf("W%d", i), Name: long, Kind: "wall", Size: "4.2 m × 3.6 m, 15.12 m²", SpecifiedKgM2: 36.7, AchievedKgM2: 30.2, ThicknessMM: 57.5, LoadKNM2: 0.36,
			Section: drawing.Section{Kind: drawing.Wall, Code: "W1"}, Says: many(3, "predicted")}
		for n := 1; n <= 20; n++ {
			s.Layers = append(s.Layers, PackLayer{N: n, Specified: long, Installed: long, SpecifiedKgM2: 12.6, AchievedKgM2: 9.8, SpecifiedMM: 15, AchievedMM: 12.5, Share: 0.5, State: "covered unseen", Unseen: true})
			s.Section.Layers = append(s.Section.Layers, drawing.Slab{Number: n, Name: "board", ThicknessMM: 15, Hatch: drawing.Board, State: drawing.Installed})
		}
		for n := range 5 {
			data := portrait.Bytes()
			if n%2 == 0 {
				data = wide.Bytes()
			}
			s.Photos = append(s.Photos, PackPhoto{JPEG: data, Caption: fmt.Sprintf("photo %d %s", n, long)})
		}
		s.Photos = append(s.Photos, PackPhoto{Caption: "still on its way"})
		p.Surfaces = append(p.Surfaces, s)
		p.Tests = append(p.Tests, PackTest{Quantity: "DnT,w + Ctr", Rooms: long, Measured: "measured 47 dB", Limit: "Limit at least 43 dB", Margin: "margin 4 dB", Verdict: "passes", Predicted: long, By: long, Notes: many(2, "note")})
		p.Fixing = append(p.Fixing, PackFixing{Surface: s.Surface, Behind: long, Plan: &Plan{WidthM: 4.2, HeightM: 2.6, Notes: []string{long}, Lines: []PlanLines{{What: "studs", Across: true, AtMM: []float64{0, 50, 60, 600, 1200, 4200}}, {What: "cables", AtMM: []float64{0, 300, 310, 2600}, Danger: true}}}, May: many(2, "may"), MayNot: many(4, "may not")})
	}
	return p
}

func packFile(t *testing.T, p Pack) string {
	t.Helper()
	var b bytes.Buffer
	if err := WritePack(&b, p); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "pack.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// However much there is to say, all of it is printed, inside the margins and above the foot.
func TestPackStaysOnThePage(t *testing.T) {
	p := stuffedPack(t)
	file := packFile(t, p)
	const mm = 72 / 25.4
	foot := (pageHeight - margin - 4) * mm
	for n, page := range words(t, file) {
		for _, w := range page {
			if w.XMin < (margin-1)*mm || w.XMax > (pageWidth-margin+1)*mm || w.YMin < (margin-3)*mm || w.YMax > (pageHeight-margin+1)*mm {
				t.Errorf("page %d: %q at %.0f,%.0f to %.0f,%.0f is off the page", n+1, w.Text, w.XMin, w.YMin, w.XMax, w.YMax)
			}
			if w.YMin < foot && w.YMax > foot+1 {
				t.Errorf("page %d: %q lies on the foot's line", n+1, w.Text)
			}
		}
	}
	read := text(t, file)
	for _, list := range [][]string{p.Open, p.Letter, p.Substitutions, p.Corrected, p.NotSeen, p.Certificates, p.Finish, p.Care, p.Cautions, p.Declined, p.FollowUps} {
		for _, line := range list {
			if head := strings.Join(strings.Fields(line)[:2], " "); !strings.Contains(read, head) {
				t.Errorf("%q is not printed", head)
			}
		}
	}
	if n := strings.Count(read, "not on this device yet"); n != 3 {
		t.Errorf("%d frames for photos that are on their way, want 3", n)
	}
	if !strings.Contains(read, "page 1 of ") {
		t.Error("the pages are not numbered")
	}
}

// The same pack gives the same bytes, however many photos of one shape it has.
func TestPackPrintsTheSameBytes(t *testing.T) {
	p := stuffedPack(t)
	var first []byte
	for range 5 {
		var b bytes.Buffer
		if err := WritePack(&b, p); err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = b.Bytes()
		} else if !bytes.Equal(first, b.Bytes()) {
			t.Fatal("printed twice, the pack differs")
		}
	}
}

func TestPackRefusesWhatIsNoPhoto(t *testing.T) {
	p := Pack{Printed: printed, Surfaces: []PackSurface{{Surface: "C1", Photos: []PackPhoto{{JPEG: []byte("not a picture"), Caption: "C1"}}}}}
	if err := WritePack(&bytes.Buffer{}, p); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("%v", err)
	}
}

// What one may and may not do with a surface is read on one page, its heading with it, wherever the list before it ends.
func TestFixingIsReadOnOnePage(t *testing.T) {
	for n := range 7 {
		p := Pack{Printed: printed}
		for i := range 4 * n {
			p.Corrected = append(p.Corrected, fmt.Sprintf("corrected %d", i))
		}
		for i := range 4 {
			p.Fixing = append(p.Fixing, PackFixing{Surface: fmt.Sprintf("W%d", i), Behind: "studs", May: []string{"light things"}, MayNot: []string{"no hole", "no bracket", fmt.Sprintf("ends%d", i)},
				Plan: &Plan{WidthM: 4.2, HeightM: 2.6, Lines: []PlanLines{{What: "studs", Across: true, AtMM: []float64{600, 1200}}}}})
		}
		title := -1
		for page, ws := range words(t, packFile(t, p)) {
			said := map[string]bool{}
			for _, w := range ws {
				said[w.Text] = true
			}
			for i := range 4 {
				if begins, ends := said[fmt.Sprintf("W%d:", i)], said[fmt.Sprintf("ends%d", i)]; begins != ends {
					t.Errorf("%d lines before: W%d is torn apart on page %d", 4*n, i, page+1)
				}
			}
			if said["Where"] {
				title = page
				if !said["W0:"] {
					t.Errorf("%d lines before: the title stands alone on page %d", 4*n, page+1)
				}
			}
		}
		if title < 0 {
			t.Error("the part has no title")
		}
	}
}

// Small surfaces share a page.
func TestSmallSurfacesShareAPage(t *testing.T) {
	p := Pack{Printed: printed, Letter: []string{"A short letter."}}
	for i := range 3 {
		p.Surfaces = append(p.Surfaces, PackSurface{Surface: fmt.Sprintf("W%d", i), Name: "Wall", Section: drawing.Section{Kind: drawing.Wall, Code: "W"}})
	}
	if n := len(words(t, packFile(t, p))); n > 3 {
		t.Errorf("three walls of which nothing is known take %d pages with the letter and the rest", n)
	}
}
