package acoustics_test

import (
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"

	"tacet/acoustics"
)

// Every complaint is one plain line that names the field, what was given and what is allowed.
func TestDecodeRefuses(t *testing.T) {
	const wall = `{"surface":"wall","width_m":4,"height_m":2.5,"layers":[`
	for _, c := range []struct{ name, in, want string }{
		{"empty", ``, "input is empty; give one JSON value"},
		{"space", "  \n", "input is empty; give one JSON value"},
		{"not JSON", `{"surface"`, "input is not complete JSON"},
		{"broken", `{"surface":}`, "input is not JSON"},
		{"trailing", `{} {}`, "input is followed by more data"},
		{"trailing bracket", `{}]`, "input is followed by more data"},
		{"not UTF-8", "{\"surface\":\"\xff\"}", "input is not UTF-8 text"},
		{"unknown key", `{"surfce":"wall"}`, "surfce is an unknown key; known here: gaps, height_m, layers, point_bridges_per_m2, surface, width_m"},
		{"case", `{"Surface":"wall"}`, "Surface is an unknown key"},
		{"duplicate", `{"surface":"wall","surface":"floor"}`, "surface is given twice"},
		{"duplicate below", wall + `{"kind":"board","thickness_mm":1,"thickness_mm":2}]}`, "layers[0].thickness_mm is given twice"},
		{"wrong type", `{"width_m":"4"}`, `width_m is "4"; give a number`},
		{"null", `{"width_m":null}`, "width_m is null; give a number"},
		{"list for object", `[1]`, "input is a list; give an object in braces"},
		{"too large", `{"width_m":1e999}`, "width_m is 1e999; give a finite number"},
		{"NaN", `{"width_m":NaN}`, "input is not JSON"},
		{"unknown layer key", wall + `{"kind":"cavity","depth":75}]}`, "layers[0].depth is an unknown key; known here: depth_mm, fill, frame"},
		{"unknown kind", wall + `{"kind":"cardboard"}]}`, `layers[0].kind is "cardboard"; give one of board, cavity,`},
		{"no kind", wall + `{"thickness_mm":3}]}`, "layers[0].kind is missing; give one of board, cavity,"},
		{"below", wall + `{"kind":"cavity","depth_mm":75,"fill":{"thicknes_mm":3}}]}`, "layers[0].fill.thicknes_mm is an unknown key"},
		{"whole number", `{"gaps":[{"leaf":1.5}]}`, "gaps[0].leaf is 1.5; give a whole number"},
		{"deep", strings.Repeat("[", 40) + strings.Repeat("]", 40), "input is nested too deeply; give at most 32 levels"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b acoustics.BuildUp
			err := acoustics.Decode([]byte(c.in), &b)
			var in *acoustics.InputError
			if !errors.As(err, &in) {
				t.Fatalf("got %v, want an InputError", err)
			}
			if got := in.Error(); !strings.HasPrefix(got, c.want) || strings.Contains(got, "\n") {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// Ranges are checked with the path of the field.
func TestValidRefuses(t *testing.T) {
	for _, c := range []struct{ layer, want string }{
		{`{"kind":"board","thickness_mm":-3,"mass_kg_m2":10}`, "layers[0].thickness_mm is -3; give 0.1 to 1000 mm"},
		{`{"kind":"board","thickness_mm":15}`, "layers[0].mass_kg_m2 is 0 or left out; give 0.1 to 3000 kg/m²; or name a material that has a density"},
		{`{"kind":"board","thickness_mm":15,"mass_kg_m2":1280}`, "layers[0].mass_kg_m2 is 1280; give 0.075 to 345 kg/m²; at 15 mm it makes 85333.3 kg/m³, which no material has"},
		{`{"kind":"board","thickness_mm":15,"mass_kg_m2":10,"poisson":0.7}`, "layers[0].poisson is 0.7; give 0 to 0.49"},
		{`{"kind":"board","thickness_mm":15,"mass_kg_m2":10,"youngs_modulus_gpa":0}`, "layers[0].youngs_modulus_gpa is 0; give 0.001 to 500 GPa"},
		{`{"kind":"board","thickness_mm":15,"material":"unobtainium"}`, `layers[0].material is "unobtainium", which is not in the list`},
		{`{"kind":"glass","thickness_mm":6,"material":"steel"}`, `layers[0].material is "steel"; it is for metal; known for glass: glass`},
		{`{"kind":"cavity","depth_mm":50,"fill":{"thickness_mm":75,"density_kg_m3":16}}`, "layers[0].fill.thickness_mm is 75; give at most 50 mm; the cavity is 50 mm deep"},
		{`{"kind":"cavity","depth_mm":50,"frame":{"kind":"bamboo"}}`, `layers[0].frame.kind is "bamboo"; give one of none, timber_stud`},
		{`{"kind":"cavity","depth_mm":50,"frame":{"kind":"none","side":3}}`, "layers[0].frame.side is 3; give 1 or 2"},
		{`{"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16}`, "layers[0].dynamic_stiffness_mn_m3 is 0; give 0.5 to 5000 MN/m³"},
		{`null`, "layers[0] is missing; give a layer of kind board, cavity"},
	} {
		var b acoustics.BuildUp
		if err := acoustics.Decode([]byte(`{"surface":"wall","width_m":4,"height_m":2.5,"layers":[`+c.layer+`]}`), &b); err != nil {
			t.Fatal(err)
		}
		_, err := b.Predict()
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.layer, err, c.want)
		}
	}
}

// A layer goes to JSON and back unchanged, its kind first.
func TestLayerJSON(t *testing.T) {
	for _, text := range []string{
		`{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}`,
		`{"kind":"masonry","thickness_mm":215,"mass_kg_m2":430,"youngs_modulus_gpa":12.2,"poisson":0.2,"loss_factor":0.01}`,
		`{"kind":"plaster","thickness_mm":12,"material":"gypsum_plaster"}`,
		`{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10,"shear_modulus_mpa":5,"loss_factor":0.3}`,
		`{"kind":"cavity","depth_mm":75,"fill":{"thickness_mm":50,"density_kg_m3":45,"flow_resistivity_kpa_s_m2":15},"frame":{"kind":"timber_stud","spacing_mm":600,"mass_kg_m2":2,"resilient":"clip","side":1}}`,
		`{"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":16,"dynamic_stiffness_mn_m3":20}`,
		`{"kind":"loose_fill","thickness_mm":50,"mass_kg_m2":40}`,
		`{"kind":"soft_covering","thickness_mm":8,"mass_kg_m2":2,"delta_lw_db":22}`,
	} {
		var l acoustics.Layer
		if err := acoustics.Decode([]byte(text), &l); err != nil {
			t.Fatal(err)
		}
		out, err := json.Marshal(l)
		if err != nil {
			t.Fatal(err)
		}
		if string(out) != text {
			t.Errorf("got %s, want %s", out, text)
		}
	}
	if out, err := json.Marshal(acoustics.Layer{}); err != nil || string(out) != "null" {
		t.Errorf("zero layer marshals as %s, %v", out, err)
	}
}

// Every kind of the registry can be found by type, and makes a layer of that kind.
func TestLayerKinds(t *testing.T) {
	want := []string{"board", "cavity", "concrete", "glass", "loose_fill", "masonry", "membrane", "metal", "plaster", "resilient_mat", "screed", "soft_covering", "timber_panel"}
	if got := acoustics.LayerKinds(); !reflect.DeepEqual(got, want) {
		t.Errorf("kinds %v, want %v", got, want)
	}
	for _, kind := range want {
		typ, ok := acoustics.LayerType(kind)
		if !ok || typ.Kind() != reflect.Struct {
			t.Errorf("%s has type %v", kind, typ)
		}
	}
}

// The facts of the trade that the record is built on: 15 mm acoustic board 12.8 kg/m², limp membrane 2.5 mm 5 and 5.3 mm 10 kg/m², floor mat
// 16 kg/m²; board, membrane, board 35.6 kg/m²; membrane under mat 26 kg/m². Common practice, no source.
func TestMassFacts(t *testing.T) {
	p := predict(t, wall(board(15, 12.8), membrane(5.3, 10), board(15, 12.8)))
	if p.MassKgM2 != 35.6 || p.ThicknessMM != 35.3 {
		t.Errorf("board, membrane, board: %v kg/m², %v mm; want 35.6 kg/m² and 35.3 mm", p.MassKgM2, p.ThicknessMM)
	}
	mat := acoustics.Layer{Element: acoustics.Mat{Thickness: 10, Mass: 16, DynamicStiffnessMNM3: 20}}
	q := predict(t, wall(solid("concrete", 150, 345), membrane(5.3, 10), mat))
	if q.MassKgM2 != 371 || q.ThicknessMM != 165.3 {
		t.Errorf("slab, membrane, mat: %v kg/m², %v mm; want 371 kg/m² and 165.3 mm", q.MassKgM2, q.ThicknessMM)
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(`{"surface":"wall","width_m":4,"height_m":2.5,"layers":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}`))
	f.Add([]byte(`{"layers":[null,{"kind":"cavity","depth_mm":1e999}]}`))
	f.Add([]byte(`[[[[[{"a":1,"a":2}]]]]]`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var b acoustics.BuildUp
		err := acoustics.Decode(data, &b)
		if err == nil {
			return
		}
		var in *acoustics.InputError
		if !errors.As(err, &in) {
			t.Fatalf("%T %v is not an InputError", err, err)
		}
		if strings.ContainsAny(in.Error(), "\n\r") {
			t.Fatalf("%q is not one line", in.Error())
		}
	})
}

func FuzzBuildUp(f *testing.F) {
	f.Add([]byte(`{"surface":"floor","width_m":4,"height_m":3.6,"layers":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"cavity","depth_mm":200,"frame":{"kind":"joist"}},{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":16}],"gaps":[{"leaf":1,"length_m":4,"width_mm":3,"depth_mm":15}],"point_bridges_per_m2":[{"cavity":1,"n":0.5}]}`))
	f.Add([]byte(`{"surface":"wall","width_m":0.1,"height_m":100,"layers":[{"kind":"cavity","depth_mm":1},{"kind":"membrane","thickness_mm":0.1,"mass_kg_m2":0.1},{"kind":"resilient_mat","thickness_mm":1,"mass_kg_m2":1,"dynamic_stiffness_mn_m3":5000}]}`))
	f.Add([]byte(`{"surface":"soffit","width_m":4,"height_m":3,"layers":[{"kind":"concrete","thickness_mm":200,"mass_kg_m2":460},{"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":1,"dynamic_stiffness_mn_m3":10},{"kind":"screed","thickness_mm":65,"mass_kg_m2":130},{"kind":"soft_covering","thickness_mm":8,"mass_kg_m2":2,"delta_lw_db":22}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var b acoustics.BuildUp
		if acoustics.Decode(data, &b) != nil {
			return
		}
		p, err := b.Predict()
		if err != nil {
			var in *acoustics.InputError
			if !errors.As(err, &in) {
				t.Fatalf("%T %v is not an InputError", err, err)
			}
			return
		}
		if _, err := json.Marshal(p); err != nil {
			t.Fatalf("a valid build-up gives a prediction that is not JSON: %v", err)
		}
	})
}
