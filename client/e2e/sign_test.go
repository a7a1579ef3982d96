package e2e_test

import (
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A client who declines to have a way round treated signs on the screen of a phone; what was drawn is kept as a picture.
func TestSignWithAFinger(t *testing.T) {
	b := open(t)
	w, host := world(t, jobs.Site, pagestest.Options{})
	b.call("hold a phone", chromedp.EmulateViewport(360, 640, chromedp.EmulateMobile))
	b.visit("http://" + host + lantern + "/s/C1/sign?path=return_wall")
	if eval[bool](b, `document.querySelector('.pen').checkVisibility()`) {
		t.Error("there is a place to draw before anybody wants to sign with a finger")
	}
	b.call("fill in", chromedp.Click(chromedp.CSS(`[name=statement][value=declined]`)), chromedp.SendKeys(chromedp.CSS("#f-name"), "Odette Fenwarden"),
		chromedp.SendKeys(chromedp.CSS("#f-role"), "client"), chromedp.Click(chromedp.CSS(`[name=means][value=finger]`)), chromedp.ScrollIntoView(chromedp.CSS(".pen")))
	at := eval[[]float64](b, `(() => { const r = document.querySelector('.pen').getBoundingClientRect(); return [r.left, r.top, r.width, r.height] })()`)
	x, y := at[0]+at[2]/4, at[1]+at[3]/2
	sign := []chromedp.Action[chromedp.Void]{chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, x, y, chromedp.Button("left"))}
	for i := range 20 {
		sign = append(sign, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x+float64(i)*at[2]/40, y+float64(i%5)*at[3]/16, chromedp.Button("left")))
	}
	sign = append(sign, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, x+at[2]/2, y, chromedp.Button("left")), chromedp.WaitVisible(chromedp.CSS(".chosen img")))
	b.call("draw", sign...)
	b.keep("sign-360")
	b.tap("button.do")
	signed := w.JobAs(pagestest.Job).Of("sign")
	if len(signed) == 0 {
		t.Fatalf("nothing is signed: %s", b.text("main"))
	}
	r := signed[len(signed)-1]
	d := r.What.(*jobs.Sign)
	if d.Means != "finger" || d.Statement != "declined" || d.Flanking != "return_wall" || len(r.Blobs) != 1 {
		t.Errorf("signed: %+v with %d pictures", d, len(r.Blobs))
	}
	// Who signs by name after all sends no drawing.
	b.visit("http://" + host + lantern + "/s/C1/sign?path=return_wall")
	b.call("change over", chromedp.Click(chromedp.CSS(`[name=means][value=finger]`)), chromedp.ScrollIntoView(chromedp.CSS(".pen")))
	b.call("draw", sign...)
	b.call("type the name instead", chromedp.Click(chromedp.CSS(`[name=means][value=typed]`)))
	if n := eval[int](b, `document.getElementById('f-photos').files.length`); n != 0 {
		t.Errorf("%d pictures are still chosen", n)
	}
	b.quiet(host)
}
