package main

import (
	"bytes"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"syscall"
	"time"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/paper"
	"tacet/sync/replica"
)

type sheetCmd struct {
	Job     string   `arg:"" help:"Id, or a part of the name that fits no other job."`
	Surface []string `help:"Code of a surface; may be given several times. All surfaces if left out." placeholder:"C1"`
	Out     string   `required:"" short:"o" help:"PDF file to write." placeholder:"FILE.pdf"`
}

// Run prints site sheets, one surface to a sheet.
func (c *sheetCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		j, err := h.Job(s.ctx, c.Job)
		if err != nil {
			return err
		}
		n, err := writeSheets(h, j, c.Surface, c.Out)
		if err != nil {
			return err
		}
		fmt.Fprintf(s.Err, "%s for %s written to %s.\n", counted(n, "sheet"), j.Name, c.Out)
		return nil
	})
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
	var pdf bytes.Buffer
	if err := paper.Write(&pdf, sheets); err != nil {
		return 0, fmt.Errorf("print sheets: %w", err)
	}
	return len(sheets), replaceFile(path, pdf.Bytes())
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

// replaceFile puts a file in place whole: a printer never gets half a sheet.
func replaceFile(path string, data []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".part-*")
	if err != nil {
		return outputError(path, err)
	}
	_, err = f.Write(data)
	err = errors.Join(err, f.Chmod(0o644), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(outputError(path, err), os.Remove(f.Name()))
	}
	return nil
}

func outputError(path string, err error) error {
	if errors.Is(err, syscall.ENOSPC) {
		return fmt.Errorf("write %s: %w", path, replica.ErrNoSpace)
	}
	var p *os.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return &jobs.InputError{Field: "-o", Value: path, Hint: "it can't be written: " + err.Error()}
}
