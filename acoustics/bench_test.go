package acoustics_test

import (
	"math/cmplx"
	"testing"
	"time"

	"tacet/acoustics"
)

// eightLayers is a ceiling of eight layers: boards, membrane, wool, clips, joists, deck, mat, deck.
func eightLayers() acoustics.BuildUp {
	mat := acoustics.Layer{Element: acoustics.Mat{Thickness: 10, Mass: 16, DynamicStiffnessMNM3: 20}}
	return acoustics.BuildUp{Surface: "floor", WidthM: 4, HeightM: 3.6, Layers: []acoustics.Layer{
		board(15, 12.8), membrane(2.5, 5), board(15, 12.8),
		framed(40, 25, acoustics.Frame{Kind: "none", Resilient: "clip"}), cavity(200, 100, "joist"),
		solid("timber_panel", 22, 16.5), mat, solid("timber_panel", 18, 13),
	}}
}

// A full prediction of eight layers against nothing but the products of as many 2x2 matrices as bands, frequencies, angles and layers make.
func BenchmarkPredictEightLayers(b *testing.B) {
	build := eightLayers()
	if _, err := build.Predict(); err != nil {
		b.Fatal(err)
	}
	var ours, floor time.Duration
	for b.Loop() {
		start := time.Now()
		bareProducts(21 * 3 * 24 * 8)
		floor += time.Since(start)
		start = time.Now()
		if _, err := build.Predict(); err != nil {
			b.Fatal(err)
		}
		ours += time.Since(start)
	}
	b.ReportMetric(float64(ours)/float64(floor), "x-floor")
	b.ReportMetric(float64(ours.Microseconds())/float64(b.N), "µs/prediction")
}

var sink complex128

func bareProducts(n int) {
	m := [4]complex128{1, 0, 0, 1}
	layer := [4]complex128{cmplx.Exp(0.1i), 0.3i, 0.2i, cmplx.Exp(0.1i)}
	for range n {
		m = [4]complex128{
			m[0]*layer[0] + m[1]*layer[2], m[0]*layer[1] + m[1]*layer[3],
			m[2]*layer[0] + m[3]*layer[2], m[2]*layer[1] + m[3]*layer[3],
		}
		if real(m[0]) > 1e100 || real(m[0]) < -1e100 {
			m = [4]complex128{1, 0, 0, 1}
		}
	}
	sink = m[0]
}
