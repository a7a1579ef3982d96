package e2e_test

import (
	"bufio"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// frontDoor is a folder for the two pictures that the README shows, written only when it is asked for.
var frontDoor = os.Getenv("TACET_FRONT_DOOR")

// tour is a browser that goes where the README says. What it follows has to stand there by the same name.
type tour struct {
	*browser
	readme string
}

func (b tour) follow(name string) {
	b.t.Helper()
	if !strings.Contains(b.readme, "*"+name+"*") {
		b.t.Errorf("the README does not name %q", name)
	}
	const find = `(() => { const e = [...document.querySelectorAll('a, button')].find(e => e.textContent.trim() === %s && e.checkVisibility()); if (e) e.id = 'next'; return !!e })()`
	if !eval[bool](b.browser, fmt.Sprintf(find, quote(name))) {
		b.t.Fatalf("nothing here is called %q: %s", name, b.text("main"))
	}
	b.tap("#next")
}

// to opens a job or a surface from the list of jobs.
func (b tour) to(base, job, surface string) {
	b.t.Helper()
	b.visit(base)
	at := eval[string](b.browser, `[...document.querySelectorAll('h2 a')].find(a => a.textContent === `+quote(job)+`).pathname`)
	b.tap(`a[href="` + at + `"]`)
	b.tap(`a[href="` + at + "/s/" + surface + `"]`)
}

// showDemo starts the demonstration and returns what it prints: the supervisor's pages with login and password, and the tablet's address.
func showDemo(t *testing.T, p program) (supervisor, login, password, tablet string) {
	t.Helper()
	cmd := p.command("demo", "--listen", "127.0.0.1:0")
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := cmd.Process.Signal(os.Interrupt); err != nil {
			t.Errorf("stop the demonstration: %v", err)
		}
		if err := cmd.Wait(); err != nil {
			t.Errorf("the demonstration ended with %v", err)
		}
	})
	signIn := regexp.MustCompile(`^Supervisor's pages +(\S+) +sign in as (\S+), password (\S+)$`)
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if m := signIn.FindStringSubmatch(lines.Text()); m != nil {
			supervisor, login, password = m[1], m[2], m[3]
		}
		if strings.HasPrefix(lines.Text(), "http://") {
			return supervisor, login, password, lines.Text()
		}
	}
	t.Fatal("the demonstration printed no address of the tablet")
	return
}

// The five minutes of the README, in its order and by the names that it uses, in one browser and on the real demonstration.
func TestFiveMinutes(t *testing.T) {
	p := client(t)
	readme, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	supervisor, login, password, start := showDemo(t, p)
	b := tour{open(t), string(readme)}
	address, err := url.Parse(start)
	if err != nil {
		t.Fatal(err)
	}
	tablet, onTablet := "http://"+address.Host+"/", program{t, p.bin, filepath.Join(p.home, "demo", "tablet")}
	b.visit(start)

	// 1 and 2: the ceiling, and both records about its perimeter.
	b.call("hold a phone", chromedp.EmulateViewport(390, 1100, chromedp.EmulateMobile))
	b.to(tablet, "7b Lantern Row", "C1")
	if got := b.text("h1"); !strings.HasPrefix(got, "Two records do not agree") {
		t.Errorf("the line that counts most is %q", got)
	}
	if got := b.text("main"); !strings.Contains(got, "to be put right") || !strings.Contains(got, "1 layer covered unseen") {
		t.Error("layer 3 is not said to be covered unseen and to be put right")
	}
	if frontDoor != "" {
		b.frontDoor(onTablet)
	}
	b.follow("Compare both records")
	if got := b.text("main"); !strings.Contains(got, "3 mm") || !strings.Contains(got, "fail") || !strings.Contains(got, "pass") {
		t.Errorf("both records are not shown: %s", got)
	}

	// 3: the supervisor answers, and the tablet has it after it asked.
	b.visit(supervisor)
	b.call("sign in", chromedp.SendKeys(chromedp.CSS("#f-login"), login), chromedp.SendKeys(chromedp.CSS("#f-password"), password))
	b.tap("button.do")
	b.follow("To be seen")
	b.tap(`a[href$="/s/W1/4/answer"]`)
	if n := eval[int](b.browser, `document.querySelectorAll('[name=answer]').length`); n != 3 {
		t.Errorf("there are %d answers", n)
	}
	b.call("say that it is to be put right", chromedp.Click(chromedp.CSS("[name=answer][value=put_right]")), chromedp.SendKeys(chromedp.CSS("#f-note"), "The bead stops at the window."))
	b.tap("button.do")
	b.visit(tablet)
	b.follow("To be sent")
	b.follow("Fetch now")
	b.to(tablet, "7b Lantern Row", "W1")
	if got := b.text("main"); !strings.Contains(got, "The bead stops at the window.") {
		t.Errorf("the tablet has not heard the answer: %s", got)
	}

	// 4: what is predicted, as specified, installed and found.
	b.to(supervisor, "7b Lantern Row", "C1")
	b.follow("Prediction")
	for _, says := range []string{"specified", "installed", "found", "open edge of layer 3"} {
		if got := b.text("main"); !strings.Contains(strings.ToLower(got), says) {
			t.Errorf("the prediction does not speak of %q", says)
		}
	}

	// 5: the sheet's code, typed, opens the surface, and the sheet is typed in.
	b.to(tablet, "7b Lantern Row", "W1")
	for _, s := range onTablet.state("Lantern").Surfaces {
		if s.Code == "W1" {
			b.follow("Scan")
			b.call("type the code", chromedp.SendKeys(chromedp.CSS("#f-code"), s.SheetCode))
			b.tap(".code-line button")
		}
	}
	b.follow("Type in a sheet")
	if got := b.text("h1"); got != "Type in the sheet of W1" {
		t.Errorf("the code leads to %q", got)
	}
}

// frontDoor leaves the two pictures that the README shows: the ceiling's page as the browser has it, and the first page of its sheet.
func (b tour) frontDoor(tablet program) {
	b.t.Helper()
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(frontDoor, "surface.png"), shot, 0o600); err != nil {
		b.t.Fatal(err)
	}
	sheet := filepath.Join(b.t.TempDir(), "sheet.pdf")
	tablet.run("sheet", "Lantern", "--surface", "C1", "-o", sheet)
	if out, err := exec.Command("pdftoppm", "-png", "-singlefile", "-r", "72", sheet, filepath.Join(frontDoor, "sheet")).CombinedOutput(); err != nil {
		b.t.Fatalf("draw the sheet: %v\n%s", err, out)
	}
}
