package pages

import "fmt"

// workingView says that what a page shows is being read, and how far that is. It asks again by itself, without scripts too.
type workingView struct {
	frame
	Answer   string
	Done, Of int
	Again    string // the page that was asked for
	Paper    bool
	Stop     string
}

// againAfter is after how many seconds the page asks again.
const againAfter = "1"

func (v *visit) wait(w working) error {
	view := workingView{Answer: fmt.Sprintf("Reading %d of %d jobs.", w.Done, w.Of), Done: w.Done, Of: w.Of, Again: v.c.OriginalURL(), Paper: w.Paper, Stop: w.Stop}
	if w.Paper {
		view.Answer = fmt.Sprintf("Making the paper: %d of %d photos are in.", w.Done, w.Of)
	}
	view.frame = v.frame(view.Answer)
	v.c.Set("Refresh", againAfter)
	return v.show("working", view)
}
