package pages_test

import (
	"net/url"
	"testing"

	"tacet/server/pages/pagestest"
)

// When a picture was taken goes with it into the record, also through a form that had to be corrected first. It is what the camera says, in the
// zone of the pages where it names none.
func TestWhenAPhotoWasTaken(t *testing.T) {
	w := lanternWorld(t)
	to := lantern + "/s/X1/1/install"
	doc := refused(t, upload(t, w, to, url.Values{"share": {"900"}}, pagestest.Shot()))
	form := url.Values{"share": {"50"}}
	for _, name := range []string{"kept", "taken"} {
		form.Set(name, doc.one(t, "input[name="+name+"]").attr["value"])
	}
	post(t, w, to, form).mustSee(t, lantern+"/s/X1")
	r := w.JobAs(pagestest.Job).Surface("X1").Layer(1).Installs[0]
	if got := r.Common().Taken; len(got) != 1 || got[0] != "2026-11-25T09:12:13Z" || len(r.Blobs) != 1 {
		t.Errorf("taken %v, %d photos", got, len(r.Blobs))
	}
}
