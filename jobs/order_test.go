package jobs_test

import (
	"encoding/csv"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tacet/acoustics"
	"tacet/jobs"
)

func itemOf(t *testing.T, items []jobs.TakeOffItem, layer int, begins string) jobs.TakeOffItem {
	t.Helper()
	for _, i := range items {
		if i.Layer == layer && strings.HasPrefix(i.Item, begins) {
			return i
		}
	}
	t.Fatalf("no item %q of layer %d in %+v", begins, layer, items)
	return jobs.TakeOffItem{}
}

// The demo ceiling, 15.12 m² on joists of 50 mm at 400: rolls of 6 m², packs of 0.432 m³ less the joists, a stack of 250
// kg/m² and 300 mm. The defaults are our own or common practice, no source; the rest is arithmetic.
func TestTakeOffOfTheDemoCeiling(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"survey","surface":"C1","category":"service","finding":"pendant box","known":"seen","boxes":1}`)
	out := d.job.TakeOffOf(d.job.Surface("C1"))
	for _, c := range []struct {
		layer          int
		begins, unit   string
		quantity, each float64 // each 0: not asked
	}{
		{1, "wool 100 mm, 45 kg/m³", "pack", 4, 19.44},            // 15.12 x 350/400 x 0.1 / 0.432 = 3.06; 0.432 x 45
		{2, "channel", "m", 42, 0},                                // 10 runs of 4.2 m
		{2, "clip", "piece", 50, 0},                               // 5 a run
		{3, "board 15 mm, sheet 1200 x 2400", "sheet", 6, 36.288}, // 15.12 x 1.1 / 2.88 = 5.8; 2.88 x 12.6
		{4, "membrane 2.5 mm, roll 1.2 x 5 m", "roll", 3, 30},     // 15.12 x 1.05 / 6 = 2.6; 6 x 5
		{4, "tape", "m", 13.86, 0},                                // 15.12 / 1.2 x 1.1
		{5, "board 15 mm", "sheet", 6, 36.288},
		{3, "screw 32 mm", "piece", 296, 0}, // window 25 to 37: 25 lies on its edge, 32 inside
		{5, "screw 50 mm", "piece", 296, 0},
		{0, "acoustic sealant", "tube", 3, 0}, // 15.6 x 5 x 30 = 2340 ml, + 10 %
		{0, "putty pad", "piece", 1, 0},
	} {
		i := itemOf(t, out.Items, c.layer, c.begins)
		if !near(i.Quantity, c.quantity) || i.Unit != c.unit || c.each > 0 && (i.KgEach == nil || !near(*i.KgEach, c.each)) {
			t.Errorf("%s: %v %s, %v kg each; want %v %s, %v", c.begins, i.Quantity, i.Unit, i.KgEach, c.quantity, c.unit, c.each)
		}
	}
	board := itemOf(t, out.Items, 3, "board")
	if !board.TwoPeople || !board.Lifter {
		t.Errorf("36 kg overhead: two people %v, lifter %v", board.TwoPeople, board.Lifter)
	}
	if len(out.Stacks) != 2 || out.Stacks[0].Sheets != 19 || out.Stacks[0].Stacks != 1 || out.Stacks[0].Source == "" { // 250 / 12.6 = 19.8; 300 / 15 = 20
		t.Errorf("stacks %+v", out.Stacks)
	}
	if len(out.Defaults) != len(jobs.TakeOffRules()) {
		t.Errorf("%d defaults are shown, want %d", len(out.Defaults), len(jobs.TakeOffRules()))
	}
	for _, r := range out.Defaults {
		if r.Source == "" || r.Name == "" {
			t.Errorf("default %s without a source or a name", r.Key)
		}
	}
}

// A sheet weighs as the trade brief's table has it, to the kg.
func TestSheetWeights(t *testing.T) {
	for _, c := range []struct {
		width, length, mass, kg float64
	}{ // masses 8.5, 10.7 and 12.5 kg/m²: common practice, no source
		{900, 1800, 8.5, 14}, {900, 1800, 10.7, 17}, {900, 1800, 12.5, 20}, {1200, 2400, 8.5, 24}, {1200, 2400, 10.7, 31}, {1200, 2400, 12.5, 36}, {1200, 3000, 8.5, 31}, {1200, 3000, 12.5, 45},
	} {
		in := jobs.TakeOffInput{Sheet: &jobs.Sheet{WidthMM: c.width, LengthMM: c.length}}
		in.Surface.Code, in.Surface.Kind = "W1", jobs.Wall
		in.Surface.WidthM, in.Surface.HeightM = new(4.0), new(2.5)
		in.Surface.Specified = []acoustics.Layer{{Element: acoustics.Board{Of: "board", Thickness: 15, Mass: c.mass}}}
		out, err := in.TakeOff()
		if err != nil {
			t.Fatal(err)
		}
		if got := *itemOf(t, out.Items, 1, "board").KgEach; math.Round(got) != c.kg {
			t.Errorf("%v x %v at %v kg/m²: %v kg, want %v", c.width, c.length, c.mass, got, c.kg)
		}
	}
}

// What the take-off may choose is chosen, and what is out of range or unknown is refused by name.
func TestTakeOffRules(t *testing.T) {
	read := func(extra string) (jobs.TakeOff, error) {
		var in jobs.TakeOffInput
		if err := acoustics.Decode([]byte(`{"surface":{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10}]}`+extra+`}`), &in); err != nil {
			t.Fatal(err)
		}
		return in.TakeOff()
	}
	out, err := read(`,"rules":{"roll_width_m":1,"roll_length_m":10,"waste":0.2},"boxes":2`)
	if err != nil {
		t.Fatal(err)
	}
	if i := itemOf(t, out.Items, 2, "membrane 5.3 mm, roll 1 x 10 m"); i.Quantity != 2 || *i.KgEach != 100 || !i.TwoPeople { // 10 x 1.05 / 10
		t.Errorf("%+v", i)
	}
	if i := itemOf(t, out.Items, 1, "board"); i.Quantity != 5 || i.Lifter { // 10 x 1.2 / 2.88 = 4.2; a wall needs no lifter
		t.Errorf("%+v", i)
	}
	if i := itemOf(t, out.Items, 0, "putty pad"); i.Quantity != 2 {
		t.Errorf("%+v", i)
	}
	for extra, field := range map[string]string{`,"rules":{"colour":1}`: "rules.colour", `,"rules":{"waste":-1}`: "rules.waste", `,"boxes":-1`: "boxes"} {
		if _, err := read(extra); err == nil || !strings.HasPrefix(err.Error(), field+" is ") {
			t.Errorf("%s: %v", extra, err)
		}
	}
}

// Ordered, delivered, sent back, in place: what is short and what is left over.
func TestOrderBalance(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	boards := func() jobs.OrderItem {
		for _, i := range d.job.OrderOf(jobs.Firm{}).Items {
			if i.Unit == "sheet" && strings.HasPrefix(i.Item, "board 15") {
				return i
			}
		}
		t.Fatal("no boards in the order")
		return jobs.OrderItem{}
	}
	step := func(edge string, delivered, used, short, left float64) {
		t.Helper()
		if edge != "" {
			d.record(edge)
		}
		if i := boards(); i.Delivered != delivered || !near(i.Used, used) || i.Short != short || i.LeftOver != left {
			t.Errorf("%s: delivered %v, used %v, short %v, left over %v; want %v, %v, %v, %v", edge, i.Delivered, i.Used, i.Short, i.LeftOver, delivered, used, short, left)
		}
	}
	if i := boards(); i.Ordered != 12 || !near(i.Kg, 435.456) { // both layers of the ceiling, 436 kg
		t.Fatalf("ordered %+v", i)
	}
	step("", 0, 0, 12, 0)
	step(`{"do":"deliver","surface":"C1","layer":3,"material":"acoustic board","quantity":6,"unit":"sheets"}`, 6, 0, 6, 0)
	step(`{"do":"deliver","material":"board 15 mm","quantity":8,"unit":"sheet"}`, 14, 0, 0, 2)
	step(`{"do":"return","material":"board 15 mm","quantity":3,"unit":"sheet","reason":"damaged","to":"supplier"}`, 14, 0, 1, 0)
	step(`{"do":"install","surface":"C1","layer":3,"share":1}`, 14, 6, 1, 0)
	step(`{"do":"deliver","surface":"C1","layer":5,"material":"board","quantity":2,"unit":"sheet"}`, 16, 6, 0, 1)
	step(`{"do":"install","surface":"C1","layer":5,"share":1}`, 16, 12, 0, 1)
	step(`{"do":"return","material":"board 15 mm","quantity":1,"unit":"sheet","reason":"surplus","to":"stores"}`, 16, 12, 0, 0)
	step(`{"do":"deliver","material":"paving slab","quantity":9,"unit":"sheet"}`, 16, 12, 0, 0)
	o := d.job.OrderOf(jobs.Firm{})
	if len(o.Deliveries) != 4 || o.Deliveries[3].Ordered || len(o.Returns) != 2 || !strings.Contains(strings.Join(o.Notes, "\n"), "no item of the order names") {
		t.Errorf("deliveries %+v, notes %q", o.Deliveries, o.Notes)
	}
	if kg := o.Deliveries[0].Kg; kg == nil || !near(*kg, 6*36.288) {
		t.Errorf("the first delivery weighs %v kg, want 217.728", kg)
	}
	// Delivered with another mass than ordered: 4 x 2.88 x 9.8 = 112.896 kg, arithmetic.
	d.record(`{"do":"deliver","surface":"C1","layer":3,"material":"standard board","mass_kg_m2":9.8,"quantity":4,"unit":"sheet"}`)
	o = d.job.OrderOf(jobs.Firm{})
	if kg := o.Deliveries[4].Kg; kg == nil || !near(*kg, 112.896) {
		t.Errorf("the lighter delivery weighs %v kg", kg)
	}
}

// Prices are the firm's, the longest words win, and what has no price is named.
func TestOrderPrice(t *testing.T) {
	office := officeDesk(t, jobs.Office)
	office.start2(`{"do":"price","id":"b","item":"board","unit":"sheet","price":10,"currency":"GBP"}`,
		`{"do":"price","id":"b15","item":"board 15 mm","unit":"sheet","price":21.5,"currency":"GBP","source":"list of March"}`,
		`{"do":"price","id":"b15w","item":"board 15 mm","unit":"sheet","price":18,"currency":"GBP","labour":true}`,
		`{"do":"price","id":"clip","item":"clip","unit":"piece","price":9,"currency":"GBP"}`,
		`{"do":"price","id":"clip","item":"clip","unit":"piece","price":2.4,"currency":"GBP"}`)
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	if d.job.OrderOf(jobs.FirmOf(nil)).Price != nil {
		t.Error("priced without a price list")
	}
	d.record(`{"do":"quote","price":150,"currency":"GBP","variation":"pendant moved","pays":"client"}`)
	d.record(`{"do":"quote","price":25,"currency":"GBP","variation":"pendant moved twice","pays":"client"}`)
	d.record(`{"do":"quote","price":60,"currency":"GBP","variation":"edge redone","pays":"firm"}`)
	p := d.job.OrderOf(jobs.FirmOf(office.job)).Price
	// 12 x 21.5 + 12 x 18 + 50 x 2.4 = 594, arithmetic.
	if p == nil || len(p.Lines) != 3 || len(p.Totals) != 1 || p.Totals[0] != (jobs.Money{Amount: 594, Currency: "GBP"}) {
		t.Fatalf("%+v", p)
	}
	if !strings.Contains(strings.Join(p.Unpriced, "\n"), "channel") || strings.Contains(strings.Join(p.Unpriced, "\n"), "clip") {
		t.Errorf("unpriced %q", p.Unpriced)
	}
	if len(p.Variations) != 2 || p.Variations[0] != (jobs.PaidBy{Pays: "client", Amount: 175, Currency: "GBP"}) || p.Variations[1] != (jobs.PaidBy{Pays: "firm", Amount: 60, Currency: "GBP"}) {
		t.Errorf("variations %+v", p.Variations)
	}
}

// The frame of an independent lining is named as one, and what was delivered and priced as "independent" still belongs to it.
func TestOrderOfAnIndependentFrame(t *testing.T) {
	office := officeDesk(t, jobs.Office)
	office.start2(`{"do":"price","id":"f","item":"Independent","unit":"m","price":3,"currency":"GBP"}`)
	d := newDevice(t, 1, jobs.Owner)
	d.start(`{"name":"x","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[
		{"kind":"cavity","depth_mm":65,"frame":{"kind":"independent","spacing_mm":600}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`)
	d.record(`{"do":"deliver","material":"independent","quantity":10,"unit":"m"}`)
	if got := jobs.NameOf(d.job.Surface("W1").Layers[0].Now); got != "independent frame 65 mm at 600 mm centres" {
		t.Errorf("the layer is called %q", got)
	}
	o := d.job.OrderOf(jobs.FirmOf(office.job))
	if i := o.Items[0]; i.Item != "independent frame" || i.Delivered != 10 {
		t.Errorf("%+v", i)
	}
	if len(o.Price.Lines) != 1 || o.Price.Lines[0].Item != "independent frame" {
		t.Errorf("priced %+v", o.Price.Lines)
	}
}

// How the firm takes off replaces the defaults, and says so.
func TestFirmTakesOff(t *testing.T) {
	office := officeDesk(t, jobs.Office)
	office.record(`{"do":"takeoff_rules","rules":{"roll_length_m":2.5},"sheet":{"width_mm":900,"length_mm":1800},"stock_screws_mm":[32,55],"source":"our supplier"}`)
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	out := d.job.TakeOffFor(jobs.FirmOf(office.job), d.job.Surface("C1"))
	if i := itemOf(t, out.Items, 4, "membrane 2.5 mm, roll 1.2 x 2.5 m"); i.Quantity != 6 || i.TwoPeople { // 15.876 / 3
		t.Errorf("%+v", i)
	}
	if i := itemOf(t, out.Items, 3, "board 15 mm, sheet 900 x 1800"); i.Quantity != 11 { // 16.632 / 1.62 = 10.3
		t.Errorf("%+v", i)
	}
	if out.Screws[0].StockMM == nil || *out.Screws[0].StockMM != 32 || out.Screws[1].StockMM != nil { // 42.5 to 54.5: 55 is too long
		t.Errorf("screws %+v", out.Screws)
	}
	sources := ""
	for _, r := range out.Defaults {
		if r.Key == "roll_length_m" {
			sources = r.Source
		}
	}
	if sources != "our supplier" {
		t.Errorf("the changed default says %q", sources)
	}
}

// The table is RFC 4180 with CRLF, units in the header, and no cell is a formula.
func TestOrderCSV(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(`{"name":"x","surfaces":[{"code":"-W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`)
	var b strings.Builder
	if err := d.job.OrderOf(jobs.Firm{}).WriteCSV(&b); err != nil {
		t.Fatal(err)
	}
	if strings.Count(b.String(), "\n") != strings.Count(b.String(), "\r\n") {
		t.Error("a line ends without CRLF")
	}
	rows, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 3 || rows[0][5] != "kg each (kg)" || rows[1][0] != "'-W1" || rows[1][3] != "4" || rows[1][5] != "36.288" || rows[1][9] != "yes" {
		t.Errorf("%q", rows)
	}
	for _, row := range rows {
		for _, c := range row {
			if c != "" && strings.ContainsRune("=+-@\t\r", rune(c[0])) {
				t.Errorf("a spreadsheet takes %q for a formula", c)
			}
		}
	}
}

// Whatever the surface, the weights add up, whole pieces are whole and enough, and a stack stays under both limits.
func TestTakeOffAddsUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var in jobs.TakeOffInput
		in.Surface.Code = "S1"
		in.Surface.Kind = rapid.SampledFrom([]jobs.SurfaceKind{jobs.Wall, jobs.Ceiling, jobs.Floor, jobs.Soffit}).Draw(rt, "kind")
		w, h := rapid.Float64Range(0.3, 30).Draw(rt, "width"), rapid.Float64Range(0.3, 30).Draw(rt, "height")
		in.Surface.WidthM, in.Surface.HeightM = &w, &h
		n := rapid.IntRange(0, 5).Draw(rt, "boards")
		if rapid.Bool().Draw(rt, "clip") {
			in.Surface.Specified = append(in.Surface.Specified, acoustics.Layer{Element: acoustics.Cavity{Depth: 40, Fill: &acoustics.Fill{ThicknessMM: 25, DensityKgM3: 45}, Frame: &acoustics.Frame{Kind: "none", Resilient: "clip"}}})
		}
		for range n {
			mm := rapid.Float64Range(6, 40).Draw(rt, "mm")
			in.Surface.Specified = append(in.Surface.Specified, acoustics.Layer{Element: acoustics.Board{Of: "board", Thickness: mm, Mass: mm * rapid.Float64Range(0.6, 1.3).Draw(rt, "density")}})
		}
		out, err := in.TakeOff()
		if err != nil {
			rt.Fatal(err)
		}
		var kg float64
		for _, i := range out.Items {
			kg += i.Kg
			whole := i.Unit != "m" && i.Unit != "m²"
			if i.Quantity < 0 || whole && i.Quantity != math.Trunc(i.Quantity) {
				rt.Errorf("%s: %v %s", i.Item, i.Quantity, i.Unit)
			}
			if i.M2Each > 0 && i.Quantity*i.M2Each < i.Net-1e-6 {
				rt.Errorf("%s: %v pieces of %v m² do not cover %v m²", i.Item, i.Quantity, i.M2Each, i.Net)
			}
			if i.KgEach != nil && math.Abs(i.Quantity**i.KgEach-i.Kg) > 1e-6 {
				rt.Errorf("%s: %v x %v is not %v kg", i.Item, i.Quantity, *i.KgEach, i.Kg)
			}
		}
		if math.Abs(kg-out.KgTotal) > 1e-5 {
			rt.Errorf("items weigh %v kg, the total says %v", kg, out.KgTotal)
		}
		for _, s := range out.Stacks {
			l := in.Surface.Specified[s.Layer-1]
			if s.Sheets > 1 && (float64(s.Sheets)*l.MassKgM2() > s.KgM2+1e-6 || float64(s.Sheets)*l.ThicknessMM() > s.MM+1e-6) {
				rt.Errorf("stack of %d is over its limit: %+v", s.Sheets, s)
			}
		}
	})
}

// A delivery is set against what was ordered; what came damaged is not there to be fixed.
func TestDeliveryInItsCondition(t *testing.T) {
	d := newDevice(t, 1, jobs.Site)
	d.start(house)
	e := d.record(`{"do":"deliver","surface":"C1","layer":3,"material":"acoustic board","quantity":10,"unit":"sheet","ordered":12,"damaged":2,"wet":true,"stored":"flat on bearers by the bay wall"}`)
	says := d.job.Says(d.job.ByID(e.ID))
	for _, want := range []string{"10 sheets acoustic board", "12 were ordered", "2 damaged", "wet", "lies: flat on bearers by the bay wall"} {
		if !strings.Contains(says, want) {
			t.Errorf("%q does not say %q", says, want)
		}
	}
	var delivered float64
	for _, i := range d.job.OrderOf(jobs.Firm{}).Items {
		delivered += i.Delivered
	}
	if delivered != 8 { // arithmetic
		t.Errorf("%g sheets are there to be fixed, want 8", delivered)
	}
	for edge, field := range map[string]string{`"damaged":11`: "damaged", `"ordered":-1`: "ordered", `"damaged":-1`: "damaged"} {
		if _, err := d.try(`{"do":"deliver","surface":"C1","layer":3,"material":"board","quantity":10,"unit":"sheet",` + edge + `}`); err == nil || !strings.Contains(err.Error(), field) {
			t.Errorf("%s: %v", edge, err)
		}
	}
}

// What is ordered in rolls and comes as an area is set against the rolls: 18 m² of rolls of 1.2 x 5 m are 3 rolls,
// and all 24 m² weigh 120 kg at 5 kg/m² (arithmetic).
func TestDeliveredAsAnArea(t *testing.T) {
	d := newDevice(t, 1, jobs.Site)
	d.start(house)
	d.record(`{"do":"deliver","surface":"C1","layer":4,"material":"membrane","quantity":24,"unit":"m2","damaged":6}`)
	o := d.job.OrderOf(jobs.Firm{})
	found := false
	for _, i := range o.Items {
		if i.Unit == "roll" {
			found = true
			if i.Delivered != 3 || i.Short != i.Ordered-3 {
				t.Errorf("of %v rolls %v came and %v are to come", i.Ordered, i.Delivered, i.Short)
			}
		}
	}
	m := o.Deliveries[0]
	if !found || !m.Ordered || m.Counts != 4 || m.As != "roll" || m.Quantity != 24 || m.Kg == nil || !near(*m.Kg, 120) {
		t.Errorf("delivered %+v", m)
	}
}
