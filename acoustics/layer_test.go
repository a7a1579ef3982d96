package acoustics_test

import (
	"errors"
	"strings"
	"testing"

	"tacet/acoustics"
)

// Every kind that is registered here is one that the prediction knows: what no [acoustics.BuildUp] takes by itself belongs to a job.
func TestEveryKindIsCalculated(t *testing.T) {
	var none acoustics.Layer
	err := none.UnmarshalJSON([]byte(`{"kind":"nothing of the sort"}`))
	var in *acoustics.InputError
	if !errors.As(err, &in) {
		t.Fatalf("a kind that does not exist: %v", err)
	}
	if want := "one of " + strings.Join(acoustics.LayerKinds(), ", "); in.Range != want {
		t.Errorf("%s; want %s: a kind has no addTo", in.Range, want)
	}
}

// A layer that was fitted with another mass and thickness weighs that and stays what it is otherwise.
func TestWeighed(t *testing.T) {
	delta := 20.0
	for _, was := range []acoustics.Element{
		acoustics.Board{Thickness: 15, Material: "plasterboard"}, acoustics.Membrane{Thickness: 2.5, Mass: 5},
		acoustics.Mat{Thickness: 10, Mass: 16, DynamicStiffnessMNM3: 20}, acoustics.LooseFill{Thickness: 50, Mass: 60},
		acoustics.SoftCovering{Thickness: 8, Mass: 2, DeltaLwDB: &delta},
	} {
		now := was.Weighed(7.5, 12)
		if now.MassKgM2() != 7.5 || now.ThicknessMM() != 12 || now.Kind() != was.Kind() || now.Role() != was.Role() {
			t.Errorf("%s became %+v", was.Kind(), now)
		}
		if back := now.Weighed(was.MassKgM2(), was.ThicknessMM()); back.MassKgM2() != was.MassKgM2() || back.ThicknessMM() != was.ThicknessMM() {
			t.Errorf("%s: %+v is not put back to %+v", was.Kind(), back, was)
		}
	}
	cavity := acoustics.Cavity{Depth: 50}
	if now := cavity.Weighed(7.5, 12); now.ThicknessMM() != 50 || now.MassKgM2() != 0 {
		t.Errorf("a cavity became %+v", now)
	}
}
