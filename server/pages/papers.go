package pages

import (
	"bytes"
	"io"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/paper"
)

var (
	_ = register(Page{Path: "/jobs/:job/labels.pdf", Roles: everybody, Get: getLabels})
	_ = register(Page{Path: "/jobs/:job/s/:surface/labels.pdf", Roles: everybody, Get: getLabels})
	_ = register(Page{Path: "/jobs/:job/delivery.pdf", Roles: everybody, Get: getDelivery})
	_ = register(Page{Path: "/jobs/:job/survey.pdf", Roles: everybody, Get: getSurveySheet})
	_ = register(Page{Path: "/survey.pdf", Roles: everybody, Get: getEmptySurvey})
	_ = register(Page{Path: "/jobs/:job/timeline.pdf", Roles: deciders, Get: getTimeline, When: keepsWhole, Looks: "the timeline of a job"})
	_ = register(Page{Path: "/jobs/:job/dispute.zip", Roles: deciders, Get: getDispute, When: keepsWhole, Looks: "took the whole record of a job"})
)

func keepsWhole(d Deps) bool { return d.Whole != nil }

// papers are what may be printed of a job.
func (v *visit) papers(j *jobs.Job) []step {
	base := jobPath(j)
	ss := []step{{"Site sheets", base + "/sheets.pdf"}, {"Labels", base + "/labels.pdf"}, {"Delivery sheet", base + "/delivery.pdf"}, {"Survey sheet", base + "/survey.pdf"}}
	if (Page{Roles: deciders}).MayOpen(v.who.Role) {
		ss = append(ss, step{"Handover pack", base + "/pack.pdf"})
		if v.deps.Whole != nil {
			ss = append(ss, step{"Timeline for a dispute", base + "/timeline.pdf"}, step{"Dispute file with photos", base + "/dispute.zip"})
		}
	}
	return ss
}

// pdf answers with a paper.
func (v *visit) pdf(name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	v.picture("application/pdf")
	v.c.Set(fiber.HeaderContentDisposition, `inline; filename="`+fileName(name)+`.pdf"`)
	return v.c.Send(b.Bytes())
}

func (v *visit) sheetOptions() SheetOptions {
	return SheetOptions{Firm: v.who.Firm, Host: v.deps.SheetHost, Printed: v.deps.Now(), Zone: v.deps.Zone}
}

// paperHead is the head of a paper of the whole job.
func paperHead(title string, j *jobs.Job, opt SheetOptions) paper.Head {
	h := paper.Head{Title: title, Firm: opt.Firm, Job: j.Name, Site: j.Site, Printed: opt.printed()}
	if len(j.Records) > 0 {
		h.Version = jobs.Count(len(j.Records), "record")
	}
	if len(j.Surfaces) > 0 {
		code := jobs.SheetCode(j.ID, j.Surfaces[0].Code) // opens the record; it holds nothing else
		h.Code = jobs.FormatSheetCode(code)
		if opt.Host != "" {
			h.URL = paper.Payload(opt.Host, code)
		}
	}
	return h
}
