package main

import (
	"encoding/json"
	"fmt"
	"html"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var (
	tags   = regexp.MustCompile(`<[^>]*>`)
	blanks = regexp.MustCompile(`[\s\p{Zs}]+`)
)

// The page of a prediction shows what client calc says of the same layers: the ratings, every band, and the value between rooms.
func TestThePageShowsWhatIsCalculated(t *testing.T) {
	const existing = `{"kind":"masonry","thickness_mm":112,"mass_kg_m2":200}`
	const lining = `{"kind":"cavity","depth_mm":65,"fill":{"thickness_mm":50,"density_kg_m3":45},"frame":{"kind":"independent","spacing_mm":600,"mass_kg_m2":0.55}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}`
	dir := filepath.Join(t.TempDir(), "home")
	id, errs, code := calc(t, `{"name":"Ropewalk 4","rooms":[{"code":"R1","name":"bedroom","volume_m3":31}],"targets":[{"quantity":"dntw_ctr","value_db":43,"source":"the lease"}],
		"surfaces":[{"code":"W1","kind":"wall","room":"R1","width_m":4,"height_m":2.5,"flanking":[],"existing":[`+existing+`],"specified":[`+lining+`]}]}`, "--home", dir, "job", "import", "-")
	if code != 0 {
		t.Fatalf("import: %d, %s", code, errs)
	}
	var stack struct {
		Rw  float64            `json:"rw_db"`
		C   float64            `json:"c_db"`
		Ctr float64            `json:"ctr_db"`
		R   map[string]float64 `json:"r_db"`
	}
	calculate := func(in, what string, out any) {
		t.Helper()
		says, errs, code := calc(t, in, "calc", what)
		if code != 0 {
			t.Fatalf("calc %s: %d, %s", what, code, errs)
		}
		if err := json.Unmarshal([]byte(says), out); err != nil {
			t.Fatal(err)
		}
	}
	calculate(`{"surface":"wall","width_m":4,"height_m":2.5,"layers":[`+existing+`,`+lining+`]}`, "buildup", &stack)
	var room struct {
		DnTw    float64 `json:"dntw_db"`
		DnTwCtr float64 `json:"dntw_ctr_db"`
	}
	calculate(fmt.Sprintf(`{"rw_db":%v,"c_db":%v,"ctr_db":%v,"separating_area_m2":10,"receiving_volume_m3":31,"flanking":[]}`, stack.Rw, stack.C, stack.Ctr), "room", &room)

	address := openHere(t, dir)
	cookie := ask(t, http.MethodGet, address, nil).Cookies()[0]
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	res := ask(t, http.MethodGet, "http://"+u.Host+"/jobs/"+strings.TrimSpace(id)+"/s/W1/prediction", map[string]string{"Cookie": cookie.Name + "=" + cookie.Value})
	body, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("the page: %d, %v", res.StatusCode, err)
	}
	page := blanks.ReplaceAllString(html.UnescapeString(tags.ReplaceAllString(string(body), " ")), " ")
	shows := func(says string) {
		t.Helper()
		if !strings.Contains(page, says) {
			t.Errorf("the page does not show %q", says)
		}
	}
	level := func(v float64) string { return strings.Replace(fmt.Sprintf("%.0f dB", v), "-", "−", 1) }
	shows(fmt.Sprintf("As specified %s %s %s %s %s ", level(stack.Rw), level(stack.C), level(stack.Ctr), level(room.DnTw), level(room.DnTwCtr)))
	shows(fmt.Sprintf("As specified: DnT,w + Ctr %s ± ", level(room.DnTwCtr)))
	if len(stack.R) != 21 {
		t.Fatalf("%d bands", len(stack.R))
	}
	for hz, r := range stack.R {
		shows(fmt.Sprintf(" %s Hz %.1f dB ", hz, r))
	}
}
