package e2e_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// Every screen of the phone in the states that it can be in: the rules of accessibility with 7:1, targets for a gloved thumb, nothing wider
// than the screen at 320 and 360 px and with text at twice its size.
func TestPhoneScreens(t *testing.T) {
	source := axe(t)
	b := open(t)
	f := newFirm(t)
	n := 0
	look := func(at string) {
		t.Helper()
		n++
		scheme := "light"
		if n%2 == 0 {
			scheme = "dark"
		}
		b.call("set the screen", chromedp.EmulateViewport(360, 740),
			call(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}))
		if dir := os.Getenv("TACET_SHOTS"); dir != "" {
			shot, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
			if err == nil {
				err = os.WriteFile(filepath.Join(dir, fmt.Sprintf("phone-%02d-%s.png", n, strings.ReplaceAll(at, " ", "-"))), shot, 0o600)
			}
			if err != nil {
				t.Error(err)
			}
		}
		eval[bool](b, `document.querySelectorAll('details').forEach(d => { d.open = true }); true`)
		eval[bool](b, source+";true")
		var found []violation
		if err := json.Unmarshal([]byte(eval[string](b, axeRun, chromedp.EvalAwaitPromise)), &found); err != nil {
			t.Fatal(err)
		}
		for _, v := range found {
			for _, n := range v.Nodes[:min(2, len(v.Nodes))] {
				t.Errorf("%s, %s: %s: %.300s\n%s", at, scheme, v.ID, n.HTML, n.Summary)
			}
		}
		for _, e := range eval[[]string](b, fmt.Sprintf(small, 56)) {
			t.Errorf("%s: %s", at, e)
		}
		for _, width := range []int64{320, 360, 1280} {
			b.call("set the screen", chromedp.EmulateViewport(width, 740))
			if got := eval[int64](b, `document.documentElement.scrollWidth`); got > width {
				t.Errorf("%s is %d px wide on a screen of %d", at, got, width)
			}
		}
		b.call("set the screen", chromedp.EmulateViewport(360, 740))
		if got := eval[int64](b, `document.documentElement.style.fontSize = '200%'; document.documentElement.scrollWidth`); got > 360 {
			t.Errorf("%s is %d px wide with text at twice its size", at, got)
		}
		eval[bool](b, `document.documentElement.style.fontSize = ''; true`)
	}
	b.visit(f.URL + "/phone")
	b.h1("Enrol this phone")
	look("not enrolled")
	b.press(".form .do")
	b.until("what is missing", "document.querySelector('.errors')")
	look("not enrolled, to correct")
	dev := f.enrolPhone(b)
	b.hash("#/take")
	b.h1("Which jobs")
	look("taking along")
	b.hash("#/")
	b.h1("1 job taken along.")
	look("jobs")
	b.hash("#/waiting")
	b.h1("Nothing waits")
	look("nothing waits")
	b.hash("#/you")
	b.h1("Idris Vaugh")
	look("you")
	b.enter("#f-pin", "493817")
	b.press(".form .do")
	b.h1("1 job taken along.")
	b.hash("#/sign-in")
	b.h1("Who uses this phone?")
	look("who uses it")
	f.net.set(true)
	at := "#/j/" + f.job
	for _, s := range []struct{ at, says string }{{at, "Lantern Row"}, {at + "/s/C1", "Layer 1 hides"}, {at + "/s/X1", "Layer 1 may go on"}, {at + "/s/C1/1/install", "Layer 1"}, {at + "/s/C1/3/K23", "K23"},
		{at + "/s/C1/3/substitute", "instead of"}, {at + "/s/C1/3/photo", "A photo of"}, {at + "/note", "A note about"}, {"#/scan", "Open a sheet"}, {"#/j/none", "That is not on this phone"}} {
		b.hash(s.at)
		b.h1(s.says)
		look(strings.NewReplacer("#/", "", f.job, "job", "/", " ").Replace(s.at))
		if strings.Contains(s.at, "K23") || strings.Contains(s.at, "scan") {
			b.press("button.do")
			b.until("what to correct", "document.querySelector('.errors')")
			look(strings.NewReplacer("#/", "", f.job, "job", "/", " ").Replace(s.at) + " to correct")
		}
	}
	b.hash(at + "/s/X1/1/install")
	b.h1("Layer 1")
	b.call("show it", chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), []string{picture(t)}))
	b.until("it is shown", "document.querySelector('.chosen img')")
	look("with a photo")
	b.press("button.do")
	b.until("it is recorded", "document.querySelector('main').textContent.includes('Recorded here since')")
	look("recorded, no connection")
	b.hash("#/waiting")
	b.h1("1 change and 1 photo to send.")
	look("one waits")
	f.net.set(false)
	if err := f.server.Accounts.Revoke(t.Context(), dev); err != nil {
		t.Fatal(err)
	}
	b.press("button.do")
	b.h1("This device was removed.")
	look("removed")
	b.calm(f)
}
