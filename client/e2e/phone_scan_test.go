package e2e_test

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"tacet/jobs"
)

// fakeCamera gives a browser that has neither a camera nor a reader of codes both: a moving picture, and a reader that sees what the test
// holds before it, but only in a picture that moves.
const fakeCamera = `
	globalThis.held = ''
	globalThis.tracks = []
	globalThis.BarcodeDetector = class {
		static async getSupportedFormats() { return ['qr_code'] }
		constructor({ formats }) { if (!formats.includes('qr_code')) throw new TypeError('which codes?') }
		async detect(video) {
			if (!(video instanceof HTMLVideoElement) || video.paused || video.videoWidth === 0) throw new DOMException('no picture', 'InvalidStateError')
			return held ? [{ rawValue: held, format: 'qr_code' }] : []
		}
	}
	navigator.mediaDevices.getUserMedia = async ({ video, audio }) => {
		if (globalThis.refused) throw new DOMException('no', 'NotAllowedError')
		if (!video || audio) throw new TypeError('a picture alone is wanted')
		const canvas = document.createElement('canvas'), pen = canvas.getContext('2d')
		setInterval(() => { pen.fillStyle = pen.fillStyle === '#000000' ? '#ffffff' : '#000000'; pen.fillRect(0, 0, 300, 150) }, 40)
		const stream = canvas.captureStream(25)
		tracks.push(...stream.getTracks())
		return stream
	}`

// The camera reads the code of a sheet without a signal: a code of something else is passed over, one of a surface that was not taken along
// is said, the right one opens its surface, and the camera goes out with the page, however it is left. Where it is refused, one types.
func TestPhoneScansWithTheCamera(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	b.call("give it a camera", call(page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: fakeCamera}), chromedp.EmulateViewport(360, 740))
	f.enrolPhone(b)
	f.net.set(true)
	b.hash("#/scan")
	b.h1("Open a sheet")
	b.press("button.or")
	b.until("the picture moves", "document.querySelector('video.camera')?.currentTime > 0")
	eval[bool](b, "held = 'https://elsewhere.example/a-parcel'; true")
	b.until("the camera goes on", "document.querySelector('video.camera').currentTime > 1")
	b.h1("Open a sheet")
	other := jobs.SheetCode(f.job, "not taken along")
	eval[bool](b, "held = "+quote(f.URL+"/s/"+other)+"; true")
	b.until("it is not here", "document.querySelector('.errors')?.textContent.includes('No surface that was taken along has this code')")
	eval[bool](b, "held = "+quote(strings.ToUpper(f.URL)+"/S/"+jobs.SheetCode(f.job, "C1"))+"; true")
	b.h1("Layer 1 hides")
	b.until("the camera is out", "tracks.length === 1 && tracks.every((t) => t.readyState === 'ended')")
	eval[bool](b, "held = ''; true")
	b.hash("#/scan")
	b.h1("Open a sheet")
	b.press("button.or")
	b.until("the picture moves again", "document.querySelector('video.camera')?.currentTime > 0")
	b.press("button.or")
	b.hash("#/")
	b.h1("1 job taken along.")
	b.until("the camera is out as well", "tracks.length === 2 && tracks.every((t) => t.readyState === 'ended')")
	eval[bool](b, "refused = true")
	b.hash("#/scan")
	b.h1("Open a sheet")
	b.press("button.or")
	b.until("one types instead", "document.querySelector('.errors')?.textContent.includes('Type the code instead')")
	b.calm(f)
}
