package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"strings"
	"syscall"
	"time"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/paper"
	"tacet/sync/archive"
	"tacet/sync/durable"
	"tacet/sync/replica"
)

type sheetCmd struct {
	Job     string   `arg:"" help:"Id, or a part of the name that fits no other job."`
	Surface []string `help:"Code of a surface; may be given several times. All surfaces if left out." placeholder:"C1"`
	As      string   `enum:"site,labels,delivery,survey,timeline" default:"site" help:"Which paper: site sheets, labels to cut and stick, the delivery sheet, the survey sheet, or the timeline of the record for a dispute." placeholder:"PAPER"`
	Out     string   `required:"" short:"o" help:"PDF file to write." placeholder:"FILE.pdf"`
}

// Run prints a paper of a job: site sheets, one surface to a sheet, unless another is asked for.
func (c *sheetCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		j, err := h.Job(s.ctx, c.Job)
		if err != nil {
			return err
		}
		if c.As == "site" {
			n, err := writeSheets(h, j, c.Surface, c.Out)
			if err != nil {
				return err
			}
			fmt.Fprintf(s.Err, "%s for %s written to %s.\n", jobs.Count(n, "sheet"), j.Name, c.Out)
			return nil
		}
		write, err := c.paper(s, h, j)
		if err != nil {
			return err
		}
		if err := putFile(c.Out, write); err != nil {
			return err
		}
		fmt.Fprintf(s.Err, "%s for %s written to %s.\n", paperNames[c.As], j.Name, c.Out)
		return nil
	})
}

var paperNames = map[string]string{"labels": "Labels", "delivery": "Delivery sheet", "survey": "Survey sheet", "timeline": "Timeline"}

// paper makes what is asked for, ready to be written.
func (c *sheetCmd) paper(s *session, h *home.Home, j *jobs.Job) (func(io.Writer) error, error) {
	opt := pages.SheetOptions{Firm: h.FirmName(), Host: sheetHost(h.Me), Printed: time.Now(), Zone: time.Local}
	if c.As != "labels" && len(c.Surface) > 0 {
		return nil, &jobs.InputError{Field: "--surface", Value: strings.Join(c.Surface, ", "), Hint: "site sheets and labels are for surfaces, this paper is for the whole job"}
	}
	switch c.As {
	case "labels":
		labels, err := pages.Labels(j, c.Surface, opt)
		return func(w io.Writer) error { return paper.WriteLabels(w, labels) }, err
	case "delivery":
		firm, err := h.FirmFacts(s.ctx)
		return func(w io.Writer) error { return paper.WriteDelivery(w, pages.DeliverySheet(j, firm, opt)) }, err
	case "survey":
		return func(w io.Writer) error { return paper.WriteSurvey(w, pages.SurveySheet(j, opt)) }, nil
	}
	content, err := archive.Collect(s.ctx, h.Store, h.Me.Company, j.ID)
	content.Made = opt.Printed
	return func(w io.Writer) error { return paper.WriteTimeline(w, pages.TimelinePaper(j, content, opt)) }, err
}

// writeSheets prints the sheets of some surfaces, or of all, into one PDF file.
func writeSheets(h *home.Home, j *jobs.Job, surfaces []string, path string) (int, error) {
	sheets, err := pages.Sheets(j, surfaces, pages.SheetOptions{Firm: h.FirmName(), Host: sheetHost(h.Me), Printed: time.Now(), Zone: time.Local})
	if err != nil {
		return 0, err
	}
	if len(sheets) == 0 {
		return 0, &jobs.InputError{Field: "surface", Hint: "the job has no surfaces to print"}
	}
	return len(sheets), putFile(path, func(w io.Writer) error { return paper.Write(w, sheets) })
}

// sheetHost is where the codes on sheets lead: the company's server where phones can reach it, else nowhere, and the
// sheet carries the bare code.
func sheetHost(me replica.Me) string {
	u, err := url.Parse(me.Server)
	if err != nil || u.Scheme != "https" {
		return ""
	}
	return me.Server
}

// putFile puts a file that somebody asked for in place whole, for all to read: a printer never gets half a sheet.
func putFile(path string, write func(io.Writer) error) error {
	err := durable.File(path, durable.Open, write)
	at, ok := errors.AsType[*fs.PathError](err)
	switch {
	case !ok || at.Path != path:
		return err
	case errors.Is(at, syscall.ENOSPC):
		return fmt.Errorf("write %s: %w", path, replica.ErrNoSpace)
	}
	return &jobs.InputError{Field: "-o", Value: path, Hint: "it can't be written: " + at.Err.Error()}
}
