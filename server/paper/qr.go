package paper

import (
	"bytes"
	"fmt"
	"html"
	"strconv"
	"strings"

	"github.com/skip2/go-qrcode"
)

// quietZone is the white border of a code, in modules on each side. Source: ISO/IEC 18004.
const quietZone = 4

// Payload is what a sheet's code says: HTTPS://HOST/S/CODE where there is a server, the bare code where there is none. All of it
// is upper case, which lets the code be made of fewer and larger squares; grouping in the readable code is left out. A code
// points at a record: it never acts and holds no secret.
func Payload(server, code string) string {
	bare := strings.ToUpper(strings.NewReplacer(" ", "", "-", "").Replace(code))
	if server == "" {
		return bare
	}
	return strings.ToUpper(strings.TrimRight(server, "/")) + "/S/" + bare
}

// Modules is the code as squares, true for black, its quiet zone included: error correction level Q, which gets over dust and wear
// on a quarter of the area.
func Modules(text string) ([][]bool, error) { return modules(text, qrcode.High) } // the library's High is the standard's level Q

// lasting is the level of labels, which stay on the work and are plastered, painted and scratched: H, which gets over 30 %.
const lasting = qrcode.Highest

func modules(text string, level qrcode.RecoveryLevel) ([][]bool, error) {
	code, err := qrcode.New(text, level)
	if err != nil {
		return nil, fmt.Errorf("code of %d characters: %w", len(text), err)
	}
	return code.Bitmap(), nil
}

// run is a row of black squares beside each other.
type run struct{ x, y, n int }

func runs(modules [][]bool) []run {
	var out []run
	for y, row := range modules {
		for x := 0; x < len(row); x++ {
			if !row[x] {
				continue
			}
			from := x
			for x < len(row) && row[x] {
				x++
			}
			out = append(out, run{from, y, x - from})
		}
	}
	return out
}

// QRSVG is the code as a picture for a page, side in CSS pixels, with the label as its title. The picture is white with black
// squares whatever the page's colours, because a code that is light on dark is not read everywhere.
func QRSVG(text, label string, side int) ([]byte, error) {
	modules, err := Modules(text)
	if err != nil {
		return nil, err
	}
	n := strconv.Itoa(len(modules))
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="qr" role="img" width="%d" height="%d" viewBox="0 0 %s %s" shape-rendering="crispEdges">`, side, side, n, n)
	b.WriteString("<title>" + html.EscapeString(label) + "</title>\n")
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="#ffffff"/><path fill="#000000" d="`, n, n)
	for _, r := range runs(modules) {
		fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", r.x, r.y, r.n, r.n)
	}
	b.WriteString("\"/></svg>\n")
	return b.Bytes(), nil
}
