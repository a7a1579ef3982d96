package main

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/client/home"
	"tacet/jobs"
)

// The line counts each photo once, is written over, and is gone at the end; where nobody sits at a terminal nothing is said.
func TestProgressCountsEachPhotoOnce(t *testing.T) {
	var talk bytes.Buffer
	p := &progress{to: &talk, doing: "Printing", of: 2, seen: map[jobs.Hash]bool{}}
	for _, h := range []jobs.Hash{{1}, {1}, {2}} {
		p.last = p.last.Add(-2 * progressEvery)
		if err := p.at(context.Background(), h); err != nil {
			t.Fatal(err)
		}
		p.last = p.last.Add(-2 * progressEvery)
	}
	p.done()
	lines := strings.Split(talk.String(), "\r")
	if got := lines[len(lines)-3]; !strings.HasPrefix(got, "Printing: photo 2 of 2.") {
		t.Errorf("the last line says %q", got)
	}
	if got := lines[len(lines)-2]; strings.TrimSpace(got) != "" || lines[len(lines)-1] != "" {
		t.Errorf("what is left of the line is %q", got)
	}
	quiet := (&session{stdio: stdio{Err: &talk}}).progress("Printing", &jobs.Job{})
	if quiet.to != nil {
		t.Error("it talks to a file")
	}
}

// tired is cancelled once it was asked so many times.
type tired struct {
	context.Context
	left *int
}

func (c tired) Err() error {
	if *c.left--; *c.left < 0 {
		return context.Canceled
	}
	return nil
}

// A pack or an archive that is interrupted, wherever that is, says so and leaves no file: never one that looks whole, with empty frames
// where photos were not read any more.
func TestInterruptedPaperLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	var img bytes.Buffer
	if err := png.Encode(&img, image.NewGray(image.Rect(0, 0, 64, 48))); err != nil {
		t.Fatal(err)
	}
	photo := filepath.Join(dir, "a.png")
	if err := os.WriteFile(photo, img.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	command := func(in string, args ...string) string {
		t.Helper()
		var out, talk bytes.Buffer
		if code := run(append([]string{"--home", filepath.Join(dir, "home")}, args...), stdio{In: strings.NewReader(in), Out: &out, Err: &talk}); code != 0 {
			t.Fatalf("client %s: exit %d: %s", args, code, talk.String())
		}
		return strings.TrimSpace(out.String())
	}
	job := command(`{"name":"one","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`, "job", "import", "-")
	entry, err := jobs.Canonical(map[string]any{"do": "photo", "surface": "W1", "file": photo})
	if err != nil {
		t.Fatal(err)
	}
	command(string(entry), "record", job, "--file", "-")
	h, err := home.Open(t.Context(), filepath.Join(dir, "home"))
	if err != nil {
		t.Fatal(err)
	}
	j, err := h.Job(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	stopped := 0
	for n := range 1000 {
		left := n
		s := &session{stdio: stdio{Out: &bytes.Buffer{}, Err: &bytes.Buffer{}}, ctx: tired{context.Background(), &left}}
		pdf, _, err := s.handoverPack(h, j, "")
		if err == nil {
			if len(pdf) == 0 {
				t.Fatal("the pack is empty")
			}
			break
		}
		if !errors.Is(err, context.Canceled) {
			t.Fatalf("stopped at its %d-th look, the pack says %v", n, err)
		}
		stopped++
	}
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}
	if stopped < 2 || stopped == 1000 {
		t.Fatalf("the pack was stopped at %d places", stopped)
	}
	out := filepath.Join(dir, "out")
	if err := os.Mkdir(out, 0o700); err != nil {
		t.Fatal(err)
	}
	for n, archived := 0, false; !archived; n++ {
		left := n
		s := &session{stdio: stdio{Out: &bytes.Buffer{}, Err: &bytes.Buffer{}}, ctx: tired{context.Background(), &left}, dir: filepath.Join(dir, "home")}
		err := (&archiveCmd{Job: job, Out: filepath.Join(out, "job.zip")}).Run(s)
		archived = err == nil
		files, e := os.ReadDir(out)
		if e != nil {
			t.Fatal(e)
		}
		if !archived && (!errors.Is(err, context.Canceled) || len(files) > 0) {
			t.Fatalf("stopped at its %d-th look, the archive says %v and leaves %d files", n, err, len(files))
		}
		if n == 5000 {
			t.Fatal("the archive has no end")
		}
	}
}
