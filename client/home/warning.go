package home

import (
	"context"
	"fmt"
	"path/filepath"
	"time"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
)

const (
	// ClockSlack is how far a device's clock may be from the server's before people are told.
	ClockSlack = 5 * time.Minute
	// quotaWarns is from how many per cent of the server's room for photos on people are told.
	quotaWarns = 90
)

// Warnings are what people should know before it stops them: each says what happened, what is safe and what to do.
func (h *Home) Warnings(ctx context.Context) ([]string, error) {
	var list []string
	if w := h.Room().Words(); w != "" {
		list = append(list, w)
	}
	me, err := h.Replica.Me(ctx, h.Me.Company)
	if err != nil {
		return nil, err
	}
	if off := time.Duration(me.Off) * time.Millisecond; off.Abs() > ClockSlack {
		list = append(list, ClockWords(off))
	}
	n, err := h.Replica.Unconfirmed(ctx, h.Me.Company)
	if err != nil {
		return nil, err
	}
	if n > 0 {
		list = append(list, fmt.Sprintf("The office copy was restored from a backup. Nothing is lost: %s of yours will be there again when this device has sent and fetched.", jobs.Count(n, "record")))
	}
	parts, err := h.PartWords(ctx)
	if err != nil {
		return nil, err
	}
	list = append(list, parts...)
	c, err := h.Contact()
	if err != nil {
		return nil, err
	}
	if c.PhotoQuota >= quotaWarns {
		list = append(list, fmt.Sprintf("%d%% of the server's room for photos is used. Records are sent in any case; at 100%% photos wait here. Tell the office.", c.PhotoQuota))
	}
	if s, is, err := h.Succession(); err != nil {
		return nil, err
	} else if is && s.Why == WhyCopied && time.Since(s.At) < 30*24*time.Hour {
		list = append(list, "This device's data was in two places, so it goes on as a new device. Nothing is lost and nothing counts twice. Tell the office if you did not copy it.")
	}
	return list, nil
}

// PartWords say which jobs are still arriving, and which are no longer updated.
func (h *Home) PartWords(ctx context.Context) ([]string, error) {
	parts, err := h.Replica.Parts(ctx, h.Me.Company)
	if err != nil || len(parts) == 0 {
		return nil, err
	}
	rows, err := h.Replica.Jobs(ctx, h.Me.Company)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, r := range rows {
		names[r.ID] = r.Name
	}
	var list []string
	for _, p := range parts {
		switch {
		case p.State == replica.PartArriving:
			list = append(list, fmt.Sprintf("Job still arriving: %d of %d records. Nothing in it counts as passed yet.", p.Have, p.Of))
		case names[p.Job] != "":
			list = append(list, fmt.Sprintf("%s is no longer updated: your access to it was removed. What is here stays and can be read; what you record in it waits for the supervisor.", names[p.Job]))
		}
	}
	return list, nil
}

// Room is how much space is left where the home lies.
func (h *Home) Room() photo.Room { return photo.NewDir(filepath.Join(h.Dir, "photos")).Room() }

// ClockWords say how far the clock is wrong; off is device minus server.
func ClockWords(off time.Duration) string {
	side := "ahead"
	if off < 0 {
		side = "behind"
	}
	return fmt.Sprintf("This device's clock is %s %s. Records keep the office time as well; set the clock in this device's settings.", span(off.Abs()), side)
}

// span writes how long as people say it.
func span(d time.Duration) string {
	switch {
	case d >= 48*time.Hour:
		return fmt.Sprintf("%d days", int(d.Hours()/24))
	case d >= 2*time.Hour:
		return fmt.Sprintf("%d h", int(d.Hours()))
	}
	return fmt.Sprintf("%d min", int(d.Minutes()))
}
