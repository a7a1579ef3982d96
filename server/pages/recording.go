package pages

import (
	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
)

// recordView is every page on which something is recorded: what it is about, the form, and what was recorded before.
type recordView struct {
	frame
	Where       []crumb
	Answer      string // the page's own sentence
	Stops       []stopLine
	Open        []checkLine // open checks that Stops counts
	Lead        []string
	Asked       []pair
	Picture     picture
	Link        step
	Form        form
	BeforeTitle string
	Before      []recordLine
}

type pair struct{ Name, Says string }

// ask shows a form.
func (v *visit) ask(view recordView) error {
	view.frame = v.frame(toCorrect(view.Answer, view.Form))
	return v.show("record", view)
}

// finish records what a form says and goes on to the page of what it was about. What has to be corrected is said in the
// same form, with all that was typed.
func (v *visit) finish(view recordView, r *reader, j *jobs.Job, to string, also ...map[string]any) error {
	view.Form = *r.f
	if len(view.Form.Errors) == 0 {
		err := v.record(j.ID, append([]map[string]any{r.edge}, also...)...)
		if err == nil {
			return v.see(to)
		}
		if !view.Form.take(err) {
			return err
		}
	}
	v.c.Status(fiber.StatusUnprocessableEntity)
	return v.ask(view)
}

// toCorrect is the title of a page, which says when something has to be corrected.
func toCorrect(title string, f form) string {
	if len(f.Errors) > 0 {
		return "To correct: " + title
	}
	return title
}

// noteField asks for free text.
func noteField() field { return field{Kind: "area", Name: "note", Label: "Note"} }

// at puts the place into an edge.
func at(edge map[string]any, s *jobs.Surface, layer int) {
	edge["surface"] = s.Code
	if layer > 0 {
		edge["layer"] = layer
	}
}
