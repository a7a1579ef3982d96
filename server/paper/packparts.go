package paper

// tests is what was measured, each beside its limit and its prediction.
func (d *packForm) tests() {
	d.title("Sound tests")
	if len(d.pack.Tests) == 0 {
		d.paragraph("", plainType, "No sound test was recorded. Predicted values are calculated; nothing here was measured.")
		return
	}
	for _, t := range d.pack.Tests {
		d.need(24)
		d.y = d.lines(margin, d.y, "B", plainType+1, d.wrap("B", plainType+1, inner, join(": ", t.Rooms, join(", ", t.Measured+" "+t.Quantity, t.Verdict))))
		lines := []string{}
		for _, l := range []string{join(", ", t.Limit, t.Margin), t.Predicted, t.By} {
			if l != "" {
				lines = append(lines, l)
			}
		}
		d.y += 1
		d.bullets(margin, inner, append(lines, t.Notes...))
		d.y += 1.5
	}
}

// fixing says where one may and may not fix, surface by surface.
func (d *packForm) fixing() {
	if len(d.pack.Fixing) == 0 {
		return
	}
	for i, x := range d.pack.Fixing {
		draw := func(on *packForm) {
			if i == 0 {
				on.title("Where you may and may not fix")
			}
			on.fixingOf(x)
		}
		if onPage := d.y; !d.fits(func(trial *packForm) { trial.y = onPage; draw(trial) }) {
			d.need(bottom) // what one may and may not do with a surface is read on one page
		}
		draw(d)
	}
}

func (d *packForm) fixingOf(x PackFixing) {
	d.need(20)
	d.y = d.lines(margin, d.y, "B", plainType+1, d.wrap("B", plainType+1, inner, join(": ", x.Surface, x.Behind))) + 0.8
	if x.Plan != nil {
		d.plan(*x.Plan)
	}
	for _, part := range []struct {
		word  string
		lines []string
	}{{"You may", x.May}, {"You may not", x.MayNot}} {
		if len(part.lines) == 0 {
			continue
		}
		const label = 24.0
		d.need(leading(plainType) * together)
		d.text(margin, d.y+plainType*mmPerPoint, "L", "B", plainType, part.word)
		d.bullets(margin+label, inner-label, part.lines)
	}
	d.y += 2
}
