package pages

import (
	"cmp"
	"fmt"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/paper"
)

// fixing says for each surface what stands behind it, as recorded, and what may be fixed into it.
func (p packer) fixing() []paper.PackFixing {
	var out []paper.PackFixing
	for _, s := range p.job.Surfaces {
		if len(s.Layers) == 0 || s.Kind == jobs.PipeRun {
			continue
		}
		x := fixingOf(s)
		x.Plan = p.plan(s)
		if x.Plan == nil && s.Kind != jobs.Floor {
			x.MayNot = append(x.MayNot, "Where the lines of the frame, pipes and cables run was not recorded in figures: look for them with a detector before any hole.")
		}
		out = append(out, x)
	}
	return out
}

func fixingOf(s *jobs.Surface) paper.PackFixing {
	x := paper.PackFixing{Surface: s.Code}
	boards, clear := 0.0, 0.0
	var behind []string
	for i := len(s.Layers) - 1; i >= 0; i-- {
		l := s.Layers[i]
		if c, ok := l.Now.Element.(acoustics.Cavity); ok {
			if clear == 0 {
				clear = c.Depth
			}
			behind = append(behind, frameWords(l, c))
		} else if clear == 0 {
			boards += l.FittedMM()
		}
	}
	x.Behind = strings.Join(behind, "; ")
	if s.Kind == jobs.Floor {
		x.Behind = cmp.Or(x.Behind, "floating floor")
		x.May = []string{"Stand furniture on it, and lay a soft covering."}
		x.MayNot = []string{fmt.Sprintf("No screw or nail through the deck: what is loose on a soft layer has to stay loose. The layers together are %s.", thicknessOf(boards)),
			"Nothing that ties it to the walls: skirting, thresholds and pipes stay clear of it."}
		return x
	}
	x.Behind = cmp.Or(x.Behind, "no frame is recorded; the boards lie on the structure")
	x.May = []string{fmt.Sprintf("Light things such as a picture, into the boards only. The boards and what lies between them are %s together: keep fixings shorter than that.", thicknessOf(boards))}
	if clear > 0 {
		x.MayNot = append(x.MayNot, fmt.Sprintf("No fixing longer than %s: it would reach through the boards and the gap of %s behind them, and carry the sound across.", thicknessOf(boards+clear), thicknessOf(clear)))
	}
	x.MayNot = append(x.MayNot, "No bracket for a television, no shelf, cupboard or kitchen unit without asking us first: nothing here says how much weight the surface holds.")
	if s.Kind.Overhead() {
		x.MayNot = append(x.MayNot, "No recessed lights, fans or hatches: every hole lets sound through, and may breach a fire line.")
	} else {
		x.MayNot = append(x.MayNot, "No new sockets, pipes or openings without asking us first: every hole lets sound through, and may breach a fire line.")
	}
	return x
}

// frameWords says what a frame is and where its lines lie, as recorded.
func frameWords(l *jobs.Layer, c acoustics.Cavity) string {
	words := l.Name()
	f := c.Frame
	if f == nil || f.Kind == "none" && f.Resilient == "" {
		return words
	}
	if f.SpacingMM == nil {
		return words + ", centres not recorded"
	}
	return words
}
