package pages

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/paper"
	"tacet/sync/archive"
	"tacet/sync/replica"
)

// whole is the job with every entry, those that do not count included.
func (v *visit) whole() (archive.Content, error) {
	if _, err := v.job(); err != nil {
		return archive.Content{}, err
	}
	c, err := v.deps.Whole(v.ctx, v.who.Company, v.param("job"))
	if err != nil {
		return c, err
	}
	c.Made = v.deps.Now()
	for _, e := range c.Entries {
		if c.Names[e.By] == "" {
			c.Names[e.By] = v.name(e.By)
		}
	}
	return c, nil
}

func getTimeline(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	c, err := v.whole()
	if err != nil {
		return err
	}
	return v.pdf(j.Name+" timeline", func(w io.Writer) error { return paper.WriteTimeline(w, TimelinePaper(j, c, v.sheetOptions())) })
}

// TimelinePaper is the record of a job as it is printed for a dispute.
func TimelinePaper(j *jobs.Job, c archive.Content, opt SheetOptions) paper.Timeline {
	t := c.Timeline()
	out := paper.Timeline{Head: paperHead("Timeline of the record", j, opt), Says: sentence(t.Count) + " All times in it are UTC.", Proof: []string{replica.NotProved,
		"The hashes, chains and signatures stand in the dispute file beside this paper, with the photos."}}
	for _, l := range t.Layers {
		l.Specified, l.InPlace = jobs.Capital(l.Specified), jobs.Capital(l.InPlace)
		out.Layers = append(out.Layers, paper.TimelineLayer(l))
	}
	for _, p := range t.Parts {
		out.Parts = append(out.Parts, paper.TimelinePart(p))
	}
	for _, l := range t.Rows {
		e := paper.TimelineEntry{N: l.N, Done: l.Done, Recorded: l.Recorded, Who: l.Who + ", " + l.Role, Where: l.Where, Says: sentence(l.Kind + ": " + l.Says), Hash: l.Hash}
		if l.FromPaper {
			e.Who += ", typed in from paper"
		}
		if l.Note != "" {
			e.More = append(e.More, "Note: "+sentence(l.Note))
		}
		if l.Mark != "" {
			e.More = append(e.More, sentence(l.Mark))
		}
		if l.About != "" {
			e.More = append(e.More, sentence("About "+l.About))
		}
		if n := len(l.Photos); n > 0 {
			e.More = append(e.More, jobs.Count(n, "photo")+".")
			for _, p := range l.Photos {
				if p.Gone != "" {
					e.More = append(e.More, sentence(p.Gone))
				}
			}
		}
		out.Entries = append(out.Entries, e)
	}
	return out
}

// getDispute is the whole job in one file that both sides of a dispute can read and check.
func getDispute(v *visit) error {
	j, err := v.job()
	if err != nil {
		return err
	}
	c, err := v.whole()
	if err != nil {
		return err
	}
	opt := v.packOptions(j)
	return v.long(j, jobPath(j)+"/handover", func(ctx context.Context, photo photoOf) ([]byte, error) {
		c, opt := c, opt
		c.Photo = photo
		opt.Photo = func(h jobs.Hash) []byte {
			data, err := photo(ctx, h)
			if err != nil {
				return nil
			}
			return data
		}
		var err error
		if c.Sheets, err = Printed(j, c, opt); err != nil {
			return nil, err
		}
		var b bytes.Buffer
		if err := archive.Write(ctx, &b, c); err != nil {
			return nil, err
		}
		return b.Bytes(), ctx.Err()
	}, func(data []byte) error {
		v.c.Set(fiber.HeaderContentType, "application/zip")
		v.c.Set(fiber.HeaderContentDisposition, `attachment; filename="`+fileName(j.Name)+`.zip"`)
		return v.c.Send(data)
	})
}

// Printed is all that goes on paper from a record, by file name, as a dispute file holds it.
func Printed(j *jobs.Job, c archive.Content, opt PackOptions) (map[string][]byte, error) {
	sheetOpt := SheetOptions{Firm: opt.Firm, Host: opt.Host, Printed: opt.Printed, Zone: opt.Zone}
	sheets, err := Sheets(j, nil, sheetOpt)
	if err != nil {
		return nil, err
	}
	out := map[string][]byte{}
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{"pack.pdf", func(w io.Writer) error { return paper.WritePack(w, Pack(j, opt)) }},
		{"sheets.pdf", func(w io.Writer) error { return paper.Write(w, sheets) }},
		{"timeline.pdf", func(w io.Writer) error { return paper.WriteTimeline(w, TimelinePaper(j, c, sheetOpt)) }},
	} {
		var b bytes.Buffer
		if err := f.write(&b); err != nil {
			return nil, fmt.Errorf("print %s: %w", f.name, err)
		}
		out[f.name] = b.Bytes()
	}
	return out, nil
}
