package jobs

import "tacet/acoustics"

// Whom a check is asked of. A layer counts as a board when it has mass and stiffness, whatever it is made of.

func isAny(*Surface) bool { return true }

func isPlanar(s *Surface) bool           { return !s.Kind.Along() }
func isWall(s *Surface) bool             { return s.Kind == Wall }
func isFloor(s *Surface) bool            { return s.Kind == Floor }
func isOverhead(s *Surface) bool         { return s.Kind.Overhead() }
func isWallOrCeiling(s *Surface) bool    { return isWall(s) || isOverhead(s) }
func isWallOrFloor(s *Surface) bool      { return isWall(s) || isFloor(s) }
func isBoxingOrPipe(s *Surface) bool     { return s.Kind == Boxing || s.Kind == PipeRun }
func isOverheadOrBoxing(s *Surface) bool { return isOverhead(s) || s.Kind == Boxing }
func isFireLine(s *Surface) bool         { return !isFloor(s) }
func hasOpening(s *Surface) bool         { return isWall(s) && len(s.Openings) > 0 }

func worksOnExisting(s *Surface) bool {
	for _, l := range s.Specified {
		if workOnExisting(l) > 0 {
			return true
		}
	}
	return false
}

func isBoard(l *Layer) bool { return l.Specified.Role() == acoustics.RoleMass }

func isBoardOrMembrane(_ *Surface, l *Layer) bool {
	return isBoard(l) || l.Specified.Role() == acoustics.RoleLimp || l.Specified.Role() == acoustics.RoleResilient
}

// frameOf returns the frame of a cavity layer, nil for none.
func frameOf(l *Layer) *acoustics.Frame {
	c, ok := l.Specified.Element.(acoustics.Cavity)
	if !ok || c.Frame == nil || c.Frame.Kind == "none" && c.Frame.Resilient == "" {
		return nil
	}
	return c.Frame
}

func isCavity(_ *Surface, l *Layer) bool {
	_, ok := l.Specified.Element.(acoustics.Cavity)
	return ok
}

func isFrame(_ *Surface, l *Layer) bool { return frameOf(l) != nil }

func isFreeFrame(_ *Surface, l *Layer) bool {
	f := frameOf(l)
	return f != nil && (f.Kind == "independent" || f.Kind == "twin_frame")
}

func isBar(_ *Surface, l *Layer) bool {
	f := frameOf(l)
	return f != nil && f.Resilient == "bar"
}

func isClip(_ *Surface, l *Layer) bool {
	f := frameOf(l)
	return f != nil && f.Resilient == "clip"
}

func isChannel(s *Surface, l *Layer) bool { return isBar(s, l) || isClip(s, l) }

func isWool(_ *Surface, l *Layer) bool {
	switch e := l.Specified.Element.(type) {
	case FillExisting:
		return true
	case acoustics.Cavity:
		return e.Fill != nil
	}
	return false
}

// supportOf is the nearest cavity with a frame on the structure's side of a layer: what its screws go into.
func supportOf(s *Surface, l *Layer) *Layer {
	for n := l.N - 1; n >= 1; n-- {
		if b := s.Layer(n); frameOf(b) != nil {
			return b
		}
	}
	return nil
}

func isLiningBoard(s *Surface, l *Layer) bool { return isBoard(l) && !isFloor(s) }

func isScrewed(s *Surface, l *Layer) bool { return isLiningBoard(s, l) && supportOf(s, l) != nil }

func isSprungBoard(s *Surface, l *Layer) bool {
	return isScrewed(s, l) && frameOf(supportOf(s, l)).Resilient != ""
}

// boards lists the boards of a lining, from the structure outward.
func boards(s *Surface) []*Layer {
	var bs []*Layer
	for _, l := range s.Layers {
		if isBoard(l) {
			bs = append(bs, l)
		}
	}
	return bs
}

func isLastBoard(s *Surface, l *Layer) bool {
	bs := boards(s)
	return isLiningBoard(s, l) && bs[len(bs)-1] == l
}

func isInnerBoard(s *Surface, l *Layer) bool { return isLiningBoard(s, l) && !isLastBoard(s, l) }

func isLaterBoard(s *Surface, l *Layer) bool { return isLiningBoard(s, l) && boards(s)[0] != l }

func isMembrane(_ *Surface, l *Layer) bool { return l.Specified.Role() == acoustics.RoleLimp }

func isFloorMat(s *Surface, l *Layer) bool {
	return isFloor(s) && l.Specified.Role() == acoustics.RoleResilient
}

func isFloorDeck(s *Surface, l *Layer) bool { return isFloor(s) && isBoard(l) }

func isFirstOnPipe(s *Surface, l *Layer) bool { return isBoxingOrPipe(s) && l.N == 1 }

func isFirstOnBeam(s *Surface, l *Layer) bool { return s.Kind == Beam && l.N == 1 }

func isBoxingBoard(s *Surface, l *Layer) bool { return s.Kind == Boxing && isBoard(l) }
