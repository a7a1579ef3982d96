package pages

import (
	"html/template"

	"tacet/jobs"
	"tacet/server/drawing"
)

// crumb is a part of the line that tells where a page is.
type crumb struct{ Text, Href string }

// picture is where the section of a surface is drawn, and what it shows in words. V changes with the job, so that a browser
// never shows an older drawing.
type picture struct {
	Base, Alt string
	V         int
}

// surfaceRow is one surface in a list: the miniature, what it is, and its answer.
type surfaceRow struct {
	Picture picture
	Href    string
	Code    string
	Name    string
	Mark    template.HTML
	Says    string
	Open    string // the open checks that are counted there, in words
}

func jobPath(j *jobs.Job) string { return "/jobs/" + j.ID }

func surfacePath(j *jobs.Job, s *jobs.Surface) string { return jobPath(j) + "/s/" + s.Code }

func pictureOf(j *jobs.Job, s *jobs.Surface) picture {
	d := Section(j, s)
	return picture{Base: surfacePath(j, s), V: len(j.Records), Alt: d.TitleWords() + " " + d.DescWords()}
}

func rowsOf(j *jobs.Job) []surfaceRow {
	rows := make([]surfaceRow, len(j.Surfaces))
	for i, s := range j.Surfaces {
		a := answerOf(j, s)
		rows[i] = surfaceRow{Picture: picture{Base: surfacePath(j, s), V: len(j.Records)}, Href: surfacePath(j, s), Code: s.Code,
			Name: surfaceName(j, s), Mark: mark(drawing.Mark(a.Mark)), Says: a.Says, Open: jobs.CheckNames(a.Open)}
	}
	return rows
}

// whereJob leads to a job, whereSurface to a surface of it.
func whereJob(j *jobs.Job) []crumb { return []crumb{{j.Name, jobPath(j)}} }

func whereSurface(j *jobs.Job, s *jobs.Surface) []crumb {
	return append(whereJob(j), crumb{s.Code + " " + surfaceName(j, s), surfacePath(j, s)})
}
