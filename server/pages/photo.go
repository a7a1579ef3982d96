package pages

import (
	"slices"
	"strings"

	"tacet/jobs"
)

var _ = register(Page{Name: "photo", Path: "/jobs/:job/photos/:sha/of/:over", Roles: everybody, Get: getPhotoOf, View: photoView{}})

// photoView is one photo of a record with what it is of, and the way back there: a picture by itself has none.
type photoView struct {
	frame
	Where  []crumb
	Answer string
	Photo  photoLine
	Of     []recordLine
	Back   step
}

func getPhotoOf(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	r, err := v.named(j, "over")
	if err != nil {
		return err
	}
	i := slices.IndexFunc(r.Blobs, func(h jobs.Hash) bool { return h.String() == v.param("sha") })
	if i < 0 {
		return jobs.ErrNotFound
	}
	view := photoView{Where: whereJob(j), Photo: v.photoLine(j, r, i), Of: v.placedLines(j, []*jobs.Record{r}, v.states(j)), Back: step{"Back to the job", jobPath(j)}}
	view.Of[0].Photos = nil // it stands above
	view.Answer = view.Photo.Alt
	if s := j.Surface(r.On.Surface); s != nil {
		view.Where = whereSurface(j, s)
		view.Answer = strings.TrimSpace(s.Code + ": " + jobs.Lower(view.Photo.Alt))
		view.Back = step{"Back to " + s.Code, surfacePath(j, s)}
		if n := r.On.Layer; s.Layer(n) != nil {
			view.Back = step{"Back to layer " + itoa(n) + " of " + s.Code, surfacePath(j, s) + "#layer-" + itoa(n)}
		}
	}
	view.frame = v.frame(view.Answer)
	return v.show("photo", view)
}
