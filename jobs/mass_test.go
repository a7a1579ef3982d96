package jobs_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tacet/jobs"
)

func near(a, b float64) bool { return math.Abs(a-b) < 1e-9 }

// The masses are common practice, no source; the sums are arithmetic.
func TestMassFacts(t *testing.T) {
	board := `{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}`
	thin := `{"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5}`
	thick := `{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10}`
	mat := `{"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16,"dynamic_stiffness_mn_m3":20}`
	planar := `"width_m":4,"height_m":2.5`
	along := `"length_m":2.6,"girth_m":0.6`
	for _, c := range []struct {
		kind, size        string
		layers            []string
		mass, thickness   float64
		incompleteBuildUp bool
	}{
		{"wall", planar, []string{board}, 12.8, 15, false},
		{"wall", planar, []string{board, thick, board}, 35.6, 35.3, false},
		{"wall", planar, []string{board, thin, board}, 30.6, 32.5, false},
		{"floor", planar, []string{mat}, 16, 10, false},
		{"floor", planar, []string{thick, mat}, 26, 15.3, false},
		{"wall", planar, []string{thick}, 10, 5.3, true},
		{"ceiling", planar, []string{thin}, 5, 2.5, true},
		{"floor", planar, []string{thick}, 10, 5.3, true},
		{"pipe_run", along, []string{thin}, 5, 2.5, false},
		{"beam", along, []string{thick}, 10, 5.3, false},
	} {
		d := newDevice(t, 1, jobs.Owner)
		d.start(fmt.Sprintf(`{"name":"masses","surfaces":[{"code":"S1","kind":%q,%s,"specified":[%s]}]}`, c.kind, c.size, strings.Join(c.layers, ",")))
		s := d.job.Surface("S1")
		if !near(s.SpecifiedMass(), c.mass) || !near(s.ThicknessMM(), c.thickness) {
			t.Errorf("%s %v: %v kg/m², %v mm; want %v, %v", c.kind, c.layers, s.SpecifiedMass(), s.ThicknessMM(), c.mass, c.thickness)
		}
		warned := strings.Contains(strings.Join(s.Warnings, "\n"), "incomplete build-up")
		if warned != c.incompleteBuildUp {
			t.Errorf("%s %v: incomplete build-up warned %v, want %v: %v", c.kind, c.layers, warned, c.incompleteBuildUp, s.Warnings)
		}
	}
}

// The demo scenario's sums are arithmetic: 4.5 + 2 + 12.6 + 5 + 12.6 = 36.7 and 16 + 12.3 = 28.3 kg/m²; times 0.00981.
func TestLoadOnOneStructure(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	c1, f1 := d.job.Surface("C1"), d.job.Surface("F1")
	if !near(c1.SpecifiedMass(), 36.7) || !near(f1.SpecifiedMass(), 28.3) {
		t.Fatalf("specified %v and %v kg/m², want 36.7 and 28.3", c1.SpecifiedMass(), f1.SpecifiedMass())
	}
	if got, want := d.job.StructureLoad(d.job.Structure("J1")), (36.7+28.3)*0.00981; !near(got, want) {
		t.Fatalf("load on J1 %v kN/m², want %v", got, want)
	}
	// What is fitted replaces what is specified, share by share.
	d.record(`{"do":"install","surface":"C1","layer":3,"share":0.5,"mass_kg_m2":9.8}`)
	if got, want := c1Now(d).Carries(), 9.8*0.5+12.6*0.5; !near(got, want) {
		t.Errorf("layer 3 carries %v kg/m², want %v", got, want)
	}
	d.record(`{"do":"install","surface":"C1","layer":3,"share":0.5}`)
	if got, want := c1Now(d).InstalledMass, (9.8+12.6)/2; !near(got, want) {
		t.Errorf("installed mass %v kg/m², want the mean over the shares, %v", got, want)
	}
	if got, want := d.job.Surface("C1").InstalledMass(), (9.8+12.6)/2; !near(got, want) {
		t.Errorf("achieved %v kg/m², want %v", got, want)
	}
}

func c1Now(d *device) *jobs.Layer { return d.job.Surface("C1").Layer(3) }

// TestScrewWindow: windows of the trade brief's table; common practice, no source.
func TestScrewWindow(t *testing.T) {
	for _, c := range []struct {
		name            string
		depth           float64
		frame           string
		stack           []float64 // thickness of boards and membranes; the window is that of the last
		min, max, stock float64
	}{
		{"12.5 on a bar", 16, `"kind":"none","resilient":"bar"`, []float64{12.5}, 22.5, 25.5, 25},
		{"15 on a bar", 16, `"kind":"none","resilient":"bar"`, []float64{15}, 25, 28, 25},
		{"12.5 + 12.5", 16, `"kind":"none","resilient":"bar"`, []float64{12.5, 12.5}, 35, 38, 35},
		{"12.5 + 2.5 + 12.5", 16, `"kind":"none","resilient":"bar"`, []float64{12.5, -2.5, 12.5}, 37.5, 40.5, 38},
		{"15 + 15", 16, `"kind":"none","resilient":"bar"`, []float64{15, 15}, 40, 43, 42},
		{"15 + 2.5 + 15", 16, `"kind":"none","resilient":"bar"`, []float64{15, -2.5, 15}, 42.5, 45.5, 0},
		{"15 + 5.3 + 15", 16, `"kind":"none","resilient":"bar"`, []float64{15, -5.3, 15}, 45.3, 48.3, 0},
		{"15 + 2.5 + 15, 25 mm clear", 25, `"kind":"none","resilient":"clip"`, []float64{15, -2.5, 15}, 42.5, 54.5, 50},
		{"15 + 5.3 + 15, 25 mm clear", 25, `"kind":"none","resilient":"clip"`, []float64{15, -5.3, 15}, 45.3, 57.3, 50},
		{"15, 25 mm clear", 25, `"kind":"none","resilient":"clip"`, []float64{15}, 25, 37, 32}, // 25 lies on the edge
		{"15 on a timber stud", 50, `"kind":"timber_stud"`, []float64{15}, 40, 62, 42},
	} {
		layers := []string{fmt.Sprintf(`{"kind":"cavity","depth_mm":%g,"frame":{%s}}`, c.depth, c.frame)}
		for _, mm := range c.stack {
			if mm < 0 {
				layers = append(layers, fmt.Sprintf(`{"kind":"membrane","thickness_mm":%g,"mass_kg_m2":5}`, -mm))
			} else {
				layers = append(layers, fmt.Sprintf(`{"kind":"board","thickness_mm":%g,"mass_kg_m2":12}`, mm))
			}
		}
		d := newDevice(t, 1, jobs.Owner)
		d.start(`{"name":"screws","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":3,"specified":[` + strings.Join(layers, ",") + `]}]}`)
		s := d.job.Surface("C1")
		w, ok := s.ScrewWindow(s.Layer(len(layers)))
		if !ok || !near(w.MinMM, c.min) || !near(w.MaxMM, c.max) || w.StockMM != c.stock {
			t.Errorf("%s: %+v, want %v to %v mm, stock %v", c.name, w, c.min, c.max, c.stock)
		}
		warned := strings.Contains(strings.Join(s.Warnings, "\n"), "no stock screw fits")
		if warned != (c.stock == 0) {
			t.Errorf("%s: warned %v: %v", c.name, warned, s.Warnings)
		}
	}
}
