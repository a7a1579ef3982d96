package pages

import (
	"slices"

	"tacet/jobs"
)

var _ = register(Page{Name: "record", Path: "/jobs/:job/photos/:sha/erase", Roles: desk, Get: getErasePhoto, Post: postErasePhoto, View: recordView{}})

// erasePhotoView asks once more, beside the record that names the photo.
func (v *visit) erasePhotoView() (*jobs.Job, *jobs.Record, recordView, error) {
	var view recordView
	j, err := v.job()
	if err != nil {
		return nil, nil, view, err
	}
	h, err := jobs.ParseHash(v.param("sha"))
	at := slices.IndexFunc(j.Records, func(r *jobs.Record) bool { return slices.Contains(r.Blobs, h) })
	if err != nil || h.IsZero() || at < 0 {
		return nil, nil, view, jobs.ErrNotFound
	}
	r := j.Records[at]
	view = recordView{Where: whereJob(j), Answer: "Erase this photo?", BeforeTitle: "The record that names it",
		Stops: stopLines("Nobody can bring it back."),
		Lead: []string{"It goes from the server, and from each device at its next contact. In its place stands that it was erased, when and why. The record and what it claims stay.",
			"Backups that were made before hold it until they are deleted; what was printed or handed over is out of reach. In another job that shows the same picture it stays until it is erased there."}}
	if s := j.Surface(r.On.Surface); s != nil {
		view.Where = whereSurface(j, s)
	}
	if says := v.photoErased(j, h); says != "" {
		view.Answer, view.Stops, view.Lead = says, nil, []string{"It is nowhere here any more."}
		return j, r, view, nil
	}
	view.Before = v.recordLines(j, []*jobs.Record{r}, v.states(j))
	view.Before[0].Withdraw = ""
	view.Before[0].Photos = []photoLine{v.photoLine(j, r, slices.Index(r.Blobs, h))}
	view.Before[0].Photos[0].Erase = "" // that is this page
	reason := field{Kind: "choice", Name: "reason", Label: "Why"}
	for _, w := range jobs.PhotoErasureReasons() {
		reason.Options = append(reason.Options, option{Value: w.Code, Label: jobs.Capital(w.Says)})
	}
	view.Form = form{Submit: "Erase it for ever", Fields: []field{reason}}
	if v.deps.Accounts != nil {
		own := confirmErasing()
		own.Aside = true
		view.Form.Fields = append(view.Form.Fields, own)
	}
	return j, r, view, nil
}

func getErasePhoto(v *visit) error {
	_, _, view, err := v.erasePhotoView()
	if err != nil {
		return err
	}
	return v.ask(view)
}

func postErasePhoto(v *visit) error {
	j, r, view, err := v.erasePhotoView()
	if err != nil {
		return err
	}
	read := v.read(&view.Form, "erasure")
	read.edge["of_photos"] = []string{v.param("sha")}
	read.text("reason")
	if v.deps.Accounts != nil {
		if err := v.confirmed(); err != nil && !read.f.take(err) {
			return err
		}
	}
	if len(read.f.Errors) > 0 {
		return v.finish(view, read, j, "")
	}
	if err := v.finish(view, read, j, pathOf(j, r)); err != nil || v.c.Response().StatusCode() >= 400 {
		return err
	}
	return v.note("erased a photo", j.ID)
}
