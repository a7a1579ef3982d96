package pages

import (
	"errors"
	"image"
	"net/url"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/paper"
	"tacet/sync/photo"
)

var (
	_ = register(Page{Name: "code", Path: "/s", Roles: everybody, Get: getCode, Post: postScan, View: codeView{}})
	_ = register(Page{Name: "code", Path: "/s/:code", Roles: everybody, Get: getCode, View: codeView{}})
)

// codeView asks for the readable code of a sheet. Following a code opens its surface and records nothing.
type codeView struct {
	frame
	Answer string
	Form   form
	Scan   form
}

func codeForm() form {
	return form{Submit: "Open", Fields: []field{{Kind: "text", Name: "code", Label: "Code of the sheet",
		Hint: "13 letters and digits beneath the square code. O and 0, I and 1 are the same."}}}
}

func getCode(v *visit) error {
	typed := v.param("code")
	if typed == "" {
		typed = v.c.Query("code")
	}
	view := newCodeView()
	view.Form.Fields[0].Value = typed
	if typed != "" {
		if err := listReady(v.ctx, v.deps.Record, v.who.Company, v.deps.Log); err != nil {
			return err // the codes of sheets are read with the list
		}
		found, err := v.openSheet(typed, &view.Form, "code", "")
		if found || err != nil {
			return err
		}
		v.c.Status(fiber.StatusUnprocessableEntity)
	}
	if typed == "" && v.c.Context().QueryArgs().Has("code") {
		view.Form.complain("code", "Write the code of the sheet: 13 letters and digits.")
		v.c.Status(fiber.StatusUnprocessableEntity)
	}
	view.frame = v.frame(toCorrect(view.Answer, view.Form))
	return v.show("code", view)
}

func newCodeView() codeView {
	return codeView{Answer: "Open a sheet by its code", Form: codeForm(), Scan: form{Name: "scan", Submit: "Read the code in the photo", Busy: "Reading the photo. A large one takes a few seconds.", Upload: true,
		Fields: []field{{Form: "scan", Kind: "camera", Name: "photos", Label: "Photo of the square code", Hint: "Fill half of the picture with it, hold still, in good light. The photo is read and not kept."}}}}
}

// readFromPhoto makes the page of a surface say that a photo led there.
const readFromPhoto = "?read=photo"

// openSheet goes to the surface of a readable code, or says beside the field why there is none.
func (v *visit) openSheet(typed string, f *form, name, how string) (found bool, err error) {
	code, err := jobs.ParseSheetCode(typed)
	if err != nil {
		if !f.take(err) {
			return false, err
		}
		return false, nil
	}
	job, surface, err := v.deps.Record.FindSheet(v.ctx, v.who.Company, code)
	if err == nil {
		err = v.seesJob(job)
	}
	if err == nil {
		return true, v.see("/jobs/" + job + "/s/" + url.PathEscape(surface) + how)
	}
	if !isNotFound(err) {
		return false, err
	}
	f.complain(name, "No surface here has the code "+jobs.FormatSheetCode(code)+". Its job may not have arrived on this device yet.")
	return false, nil
}

// postScan reads the code in a photo and opens what it leads to. Nothing is recorded, and the photo is not kept.
func postScan(v *visit) error {
	view := newCodeView()
	picture, err := v.scanned(&view.Scan)
	if err != nil {
		return err
	}
	if picture != nil {
		text, found := paper.Scan(picture)
		switch code := paper.CodeIn(text); {
		case !found:
			view.Scan.complain("photos", "No square code can be read in this photo. Take it again closer, without shadow, or type the 13 letters and digits beneath it.")
		case code == "":
			view.Scan.complain("photos", "The photo holds a code, but not one of a sheet. It says: "+shortened(text, 200))
		default:
			if found, err := v.openSheet(code, &view.Scan, "photos", readFromPhoto); found || err != nil {
				return err
			}
		}
	}
	view.Form.Errors, view.Scan.Errors = append(view.Form.Errors, view.Scan.Errors...), nil
	view.frame = v.frame(toCorrect(view.Answer, view.Form))
	v.c.Status(fiber.StatusUnprocessableEntity)
	return v.show("code", view)
}

// scanned is the picture that was sent, within the limits of photos; nil where there is none or it was refused, which the form says.
func (v *visit) scanned(f *form) (image.Image, error) {
	m, err := v.c.MultipartForm()
	if err != nil || len(m.File["photos"]) == 0 || m.File["photos"][0].Size == 0 {
		f.complain("photos", "Choose or take a photo, JPEG or PNG.")
		return nil, nil
	}
	head := m.File["photos"][0]
	data, err := readUpload(head)
	var picture image.Image
	if err == nil {
		picture, err = photo.Decode("photo", data)
	}
	var in *jobs.InputError
	if errors.As(err, &in) {
		f.complain("photos", inputSentence(head.Filename, in))
		return nil, nil
	}
	return picture, err
}

// shortened cuts a text that came from outside.
func shortened(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
