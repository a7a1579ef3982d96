package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
)

// calc runs a command line with text on standard input.
func calc(t *testing.T, in string, args ...string) (out, errs string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(args, stdio{In: strings.NewReader(in), Out: &o, Err: &e})
	return o.String(), e.String(), code
}

// Each calculation answers with all its keys. Values: ISO 717-1 Table C.1 for the rating, arithmetic for the rest.
func TestCalculations(t *testing.T) {
	const curve = `{"100":20.4,"125":16.3,"160":17.7,"200":22.6,"250":22.4,"315":22.7,"400":24.8,"500":26.6,"630":28.0,"800":30.5,"1000":31.8,"1250":32.5,"1600":33.4,"2000":33.0,"2500":31.0,"3150":25.5}`
	sixteen := func(v string) string { return "[" + strings.TrimSuffix(strings.Repeat(v+",", 16), ",") + "]" }
	const bands = `[100,125,160,200,250,315,400,500,630,800,1000,1250,1600,2000,2500,3150]`
	for _, c := range []struct {
		args []string
		in   string
		want map[string]any
		keys []string
	}{
		{[]string{"calc", "rating"}, `{"quantity":"airborne","resolution":"third-octave","values_db":` + curve + `}`,
			map[string]any{"single_number_db": 30.0, "c_db": -2.0, "ctr_db": -3.0, "unfavourable_sum_db": 31.8}, nil},
		{[]string{"calc", "rating"}, `{"quantity":"impact","resolution":"octave","values_db":{"125":67,"250":67,"500":65,"1000":62,"2000":49}}`,
			map[string]any{"single_number_db": 58.0}, []string{"ci_db", "unfavourable_sum_db"}},
		{[]string{"calc", "room"}, `{"rw_db":54,"c_db":-2,"ctr_db":-6,"separating_area_m2":9.92,"receiving_volume_m3":31,"flanking":[]}`,
			map[string]any{"r_prime_w_db": 54.0, "dntw_db": 54.0, "dntw_ctr_db": 48.0}, nil},
		{[]string{"calc", "room"}, `{"lnw_db":60,"ci_db":0,"flanking_k_db":2,"receiving_volume_m3":31.25}`,
			map[string]any{"l_prime_nw_db": 62.0, "lntw_db": 62.0}, nil},
		{[]string{"calc", "leak"}, `{"r_db":` + curve + `,"area_m2":10,"slits":[{"length_m":4,"width_mm":3,"depth_mm":30,"position":"mid"}],"open_area_m2":0}`,
			nil, []string{"r_db", "rw_db", "loss_db"}},
		{[]string{"calc", "fieldtest"}, `{"kind":"airborne","l1_db":[` + sixteen("90") + `],"l2_db":[` + sixteen("40") + `],"background_db":` + sixteen("20") + `,"t_s":` + sixteen("0.5") + `,"volume_m3":50,"area_m2":10,"bands_hz":` + bands + `}`,
			nil, []string{"dnt_db", "dntw_db", "c_db", "ctr_db", "r_prime_db", "background_limited_hz"}},
		{[]string{"calc", "fieldtest"}, `{"kind":"impact","li_db":[` + sixteen("60") + `],"background_db":` + sixteen("20") + `,"t_s":` + sixteen("0.5") + `,"volume_m3":50,"bands_hz":` + bands + `}`,
			nil, []string{"lnt_db", "lntw_db", "ci_db", "background_limited_hz"}},
		{[]string{"calc", "wrap"}, `{"member_kg_m":18,"member_loss_factor":0.0005,"wrap_kg_m":3.5,"wrap_loss_factor":0.3,"share":0.25,"hz":[250,500,1000]}`,
			map[string]any{"loss_factor": 0.01441}, []string{"decay_s", "bare_decay_s", "notes"}},
		{[]string{"calc", "buildup"}, `{"surface":"wall","width_m":4,"height_m":2.5,"layers":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"cavity","depth_mm":75,"fill":{"thickness_mm":50,"density_kg_m3":45},"frame":{"kind":"steel_stud"}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}`,
			map[string]any{"mass_kg_m2": 27.85, "thickness_mm": 105.0}, []string{"critical_hz", "resonance_hz", "r_db", "rw_db", "c_db", "ctr_db", "u_db", "validated", "notes"}},
		{[]string{"calc", "buildup"}, `{"surface":"floor","width_m":4,"height_m":3,"layers":[{"kind":"concrete","thickness_mm":150,"mass_kg_m2":345},{"kind":"resilient_mat","thickness_mm":10,"mass_kg_m2":2,"dynamic_stiffness_mn_m3":20},{"kind":"screed","thickness_mm":65,"mass_kg_m2":130}]}`,
			nil, []string{"ln_db", "lnw_db", "ci_db", "delta_lw_db", "lnw_u_db"}},
		{[]string{"calc", "validate", "--json"}, "", map[string]any{"published_wrong": 0.0}, []string{"families", "rows", "published", "patterns"}},
		{[]string{"materials", "--json"}, "", nil, []string{"materials", "defaults"}},
	} {
		out, errs, code := calc(t, c.in, c.args...)
		if code != 0 || strings.Count(out, "\n") != 1 {
			t.Errorf("%v: exit %d, %q, %q", c.args, code, out, errs)
			continue
		}
		var got map[string]any
		if err := json.Unmarshal([]byte(out), &got); err != nil {
			t.Errorf("%v: %v", c.args, err)
		}
		for k, v := range c.want {
			if got[k] != v {
				t.Errorf("%v: %s is %v, want %v", c.args, k, got[k], v)
			}
		}
		for _, k := range c.keys {
			if _, ok := got[k]; !ok {
				t.Errorf("%v: no %s in %s", c.args, k, out)
			}
		}
	}
}

// Bad input ends with exit 2, nothing on standard output and one plain line that says what and where.
func TestCalculationsRefuse(t *testing.T) {
	for _, c := range []struct{ command, in, want string }{
		{"buildup", ``, "input is empty"},
		{"buildup", `{"surface":"wall","width_m":4,"height_m":2.5,"layers":[]}`, "layers is a list of 0; give 1 to 60 layers"},
		{"buildup", `{"surface":"wall","width_m":4,"height_m":2.5,"layers":[{"kind":"board","thickness_mm":-3,"mass_kg_m2":12}]}`, "layers[0].thickness_mm is -3; give 0.1 to 1000 mm"},
		{"buildup", `{"surface":"wall","width_m":4,"height_m":2.5,"layers":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12}],"gaps":[{"leaf":2,"length_m":1,"width_mm":1,"depth_mm":1}]}`, "gaps[0].leaf is 2; give 1 to 1"},
		{"rating", `{"quantity":"airborne","resolution":"third-octave","values_db":{"100":20}}`, "values_db is without some bands"},
		{"rating", `{"quantity":"airborne","resolution":"octave","values_db":{"105":20}}`, "values_db.105 is not a third-octave band"},
		{"room", `{"rw_db":54}`, "separating_area_m2 is missing; give above 0, up to 1000 m²"},
		{"leak", `{"r_db":{},"area_m2":10}`, "r_db is without some bands"},
		{"fieldtest", `{"kind":"impact","bands_hz":[]}`, "bands_hz is without some bands"},
		{"wrap", `{"share":1.5}`, "member_kg_m is 0; give above 0, up to 2000 kg/m"},
	} {
		out, errs, code := calc(t, c.in, "calc", c.command)
		if code != 2 || out != "" || !strings.HasPrefix(errs, "client: "+c.want) || strings.Count(errs, "\n") != 1 {
			t.Errorf("calc %s of %s: exit %d, out %q, err %q, want %q", c.command, c.in, code, out, errs, c.want)
		}
	}
}

// The kinds that a refusal offers for a calculation are those that the calculation takes; what only a job may specify is named apart.
func TestKindsThatAreOfferedAreTaken(t *testing.T) {
	of := func(kind string) string {
		_, errs, code := calc(t, `{"surface":"wall","width_m":4,"height_m":2.5,"layers":[{"kind":"`+kind+`"}]}`, "calc", "buildup")
		if code != 2 {
			t.Errorf("a bare %s: exit %d, %q", kind, code, errs)
		}
		return errs
	}
	made, changed, ok := strings.Cut(of("nothing_like_it"), "; what a job specifies may also be ")
	_, made, given := strings.Cut(made, "give one of ")
	if !ok || !given {
		t.Fatalf("the refusal offers nothing: %q, %q", made, changed)
	}
	const alone = "can't be predicted by itself"
	for kind := range strings.SplitSeq(made, ", ") {
		if errs := of(kind); strings.Contains(errs, alone) || strings.Contains(errs, `is "`+kind+`"`) {
			t.Errorf("%s is offered and refused: %s", kind, errs)
		}
	}
	for _, kind := range []string{"fill_existing", "remove_existing"} {
		if !strings.Contains(changed, kind) || strings.Contains(made, kind) {
			t.Errorf("%s stands among %q, not among %q", kind, made, changed)
		}
		_, errs, _ := calc(t, `{"surface":"wall","width_m":4,"height_m":2.5,"layers":[{"kind":"`+kind+`","existing":1`+map[string]string{"fill_existing": `,"fill":{"thickness_mm":50,"density_kg_m3":45}`}[kind]+`}]}`, "calc", "buildup")
		if !strings.Contains(errs, alone) {
			t.Errorf("%s by itself: %s", kind, errs)
		}
	}
}
