package notice

import (
	"fmt"
	"time"

	"tacet/jobs"
)

// Kind is what a thing is, for those who choose what to be told of.
type Kind string

// The kinds.
const (
	ToSee          Kind = "to_see"          // ready to be seen before it is covered, or put right and to be accepted
	StopFailed     Kind = "stop_failed"     // a stop check failed
	NonConformance Kind = "non_conformance" // anything else to be put right
	Substitution   Kind = "substitution"    // another material is asked for, or is fixed already
	CoveredUnseen  Kind = "covered_unseen"
)

// Kinds lists them, the most pressing first.
func Kinds() []Kind { return []Kind{ToSee, StopFailed, Substitution, CoveredUnseen, NonConformance} }

// Thing is something that waits for somebody.
type Thing struct {
	Key     string    `json:"key"` // the same on every server, and another one when it happens again
	Kind    Kind      `json:"kind"`
	Job     string    `json:"job"`
	JobName string    `json:"job_name,omitempty"`
	Surface string    `json:"surface"`
	Layer   int       `json:"layer,omitempty"`
	Check   string    `json:"check,omitempty"`
	Says    string    `json:"says"`
	CoverAt time.Time `json:"cover_at,omitzero"`
	Since   time.Time `json:"since,omitzero"`

	by string // who did it, and need not be told
}

// Things lists what waits on the jobs of a firm. What the firm's own rule lets the site cover without an answer, and nobody drew to be looked
// at, is left out: it waits for nobody.
func Things(all []*jobs.Job) []Thing {
	var list []Thing
	for _, i := range jobs.Queue(all) {
		t := Thing{Kind: ToSee, Job: i.Job.ID, JobName: i.Job.Name, Surface: i.Surface.Code, Layer: i.Layer.N, CoverAt: i.CoverAt, Since: i.Since}
		switch i.Why {
		case jobs.QueueCoveredUnseen:
			t.Kind, t.Says = CoveredUnseen, "was covered before it was seen"
		case jobs.QueuePutRight:
			t.Says = "was put right and is to be accepted"
		default:
			if !i.Look && len(i.Open) == 0 && !i.CoverFrom.IsZero() || i.Answer != nil {
				continue
			}
			t.Says = "is ready to be seen before it is covered"
		}
		t.Key = fmt.Sprintf("%s %s %s %d %s %d", t.Kind, t.Job, t.Surface, t.Layer, i.Why, t.Since.UnixMilli())
		list = append(list, t)
	}
	for _, j := range all {
		list = append(list, faults(j)...)
		list = append(list, substitutions(j)...)
	}
	return list
}

func faults(j *jobs.Job) (list []Thing) {
	for _, n := range j.NonConformances() {
		if !n.Open() || n.State != jobs.NCFound {
			continue
		}
		t := Thing{Kind: NonConformance, Job: j.ID, JobName: j.Name, Surface: n.On.Surface, Layer: n.On.Layer, Check: n.On.Check, Since: n.Found.DoneAt(), by: n.Found.By, Says: "has something to be put right"}
		if n.Grade == jobs.GradeStop {
			t.Kind, t.Says = StopFailed, "failed a stop check"
		}
		if t.Check != "" {
			t.Says += ", " + t.Check
		}
		t.Key = string(t.Kind) + " " + n.Found.ID
		list = append(list, t)
	}
	return list
}

func substitutions(j *jobs.Job) (list []Thing) {
	for _, s := range j.Surfaces {
		for _, l := range s.Layers {
			r := j.OpenSubstitute(s, l.N)
			if r == nil {
				continue
			}
			t := Thing{Kind: Substitution, Job: j.ID, JobName: j.Name, Surface: s.Code, Layer: l.N, Since: r.DoneAt(), by: r.By, Says: "is to be of another material: asked"}
			if r.What.(*jobs.Substitute).State == jobs.AlreadyFixed {
				t.Says = "is of another material than specified: fixed already"
			}
			t.Key = string(Substitution) + " " + r.ID
			list = append(list, t)
		}
	}
	return list
}
