package pages

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tacet/jobs"
	"tacet/server/drawing"
)

var _ = register(Page{Name: "queue", Path: "/queue", Roles: judges, Get: getQueue, View: queueView{}})

// queueView is what is ready to be seen, in the order in which it will be covered, and what was covered unseen.
type queueView struct {
	frame
	Answer string
	Ready  []queueRow
	Unseen []surfaceRow
	Asked  []surfaceRow
	Count  string
}

type queueRow struct {
	surfaceRow
	Job  string
	When string
	at   time.Time
}

// unknownTime sorts behind every planned time.
var unknownTime = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

func getQueue(v *visit) error {
	rows, err := v.deps.Record.Jobs(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	view := queueView{}
	unseen := 0
	for _, row := range rows {
		j, err := v.deps.Record.Job(v.ctx, v.who.Company, row.ID)
		if err != nil {
			return err
		}
		for _, s := range j.Surfaces {
			view.Ready = append(view.Ready, v.readyRows(j, s)...)
			for _, l := range s.Layers {
				base := surfaceRow{Picture: picture{Base: surfacePath(j, s), V: len(j.Records)}, Code: s.Code, Name: j.Name, Href: surfacePath(j, s) + "#layer-" + itoa(l.N)}
				if l.CoveredUnseen {
					unseen++
					base.Mark, base.Says = mark(drawing.MarkCouldNotSee), fmt.Sprintf("Layer %d was covered unseen. %s", l.N, stillOpen(l))
					view.Unseen = append(view.Unseen, base)
				}
				if sub := openSubstitute(inForce(j, s, l.N)); sub != nil {
					base.Mark, base.Href = mark(drawing.MarkOpen), layerPath(j, s, l.N, "substitute")
					base.Says = fmt.Sprintf("Layer %d: %s instead of %s?", l.N, jobs.NameOf(*sub.What.(*jobs.Substitute).LayerNew), jobs.NameOf(l.Specified))
					view.Asked = append(view.Asked, base)
				}
			}
		}
	}
	slices.SortStableFunc(view.Ready, func(a, b queueRow) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.Href, b.Href)) })
	view.Answer = queueAnswer(view.Ready)
	view.Count = "Nothing was covered unseen."
	if unseen > 0 {
		view.Count = count(unseen, "layer") + " covered unseen."
	}
	view.frame = v.frame("To be seen")
	return v.show("queue", view)
}

func (v *visit) readyRows(j *jobs.Job, s *jobs.Surface) []queueRow {
	var rows []queueRow
	for _, l := range s.Layers {
		if l.State != jobs.ReadyToBeSeen {
			continue
		}
		row := queueRow{Job: j.Name, When: "no time planned", at: unknownTime, surfaceRow: surfaceRow{Picture: picture{Base: surfacePath(j, s), V: len(j.Records)},
			Href: layerPath(j, s, l.N, "answer"), Code: s.Code, Name: fmt.Sprintf("layer %d, %s", l.N, jobs.NameOf(l.Now))}}
		if t, err := time.Parse(time.RFC3339, l.CoverAt); err == nil {
			row.at, row.When = t, "covering "+v.clock(t)
		}
		if n := len(l.Open); n > 0 {
			row.Mark, row.Says = mark(drawing.MarkStop), count(n, "stop check")+" open. "
		}
		for _, r := range inForce(j, s, l.N) {
			if d, ok := r.What.(*jobs.Audit); ok && d.Answer == jobs.AnswerComing {
				row.Says += v.name(r.By) + " is coming."
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// inForce lists what counts of the work on a layer.
func inForce(j *jobs.Job, s *jobs.Surface, layer int) []*jobs.Record {
	var rs []*jobs.Record
	for _, r := range s.Work() {
		if r.On.Layer == layer && j.InForce(r) {
			rs = append(rs, r)
		}
	}
	return rs
}

func stillOpen(l *jobs.Layer) string {
	if len(l.Open) == 0 {
		return ""
	}
	return "Still open: " + codesOf(l.Open) + "."
}

func queueAnswer(rows []queueRow) string {
	switch {
	case len(rows) == 0:
		return "Nothing waits to be seen."
	case rows[0].at.Equal(unknownTime):
		return count(len(rows), "layer") + " ready to be seen."
	}
	return fmt.Sprintf("%s ready to be seen, the first %s.", count(len(rows), "layer"), rows[0].When)
}
