// Package pages shows the record to people: server-rendered pages that both programs host, the client for whoever works on
// site and the server for supervisors and the office. They look like the trade's own paper: the answer as a sentence, the
// surface in section, one line for each layer.
//
// A page is one file NAME.go with its template html/NAME.html, which registers itself; nothing else has to know it. A
// handler decodes the form into the same objects as the command line records, makes one call, and answers; no rule of the
// trade stands here or in a template. All of it works without scripts; what scripts there are only save a step.
//
// Map: page.go the registry; deps.go what a program passes in; pages.go routes and headers; visit.go one request;
// render.go templates; form.go fields and their complaints; static.go what is served under its checksum; format.go numbers
// and times; answer.go the sentence on top; section.go and sheet.go from a job to drawing and paper; one file for each page.
//
// The office: deed.go forms told as data, tree.go from their paths to the object that is recorded; draft.go and buildup.go the list
// of layers as it is written; papers.go what may be printed, one file for each paper; kept.go what is made of each job once, for the
// pages that look at all of them; guide.go the help; officeview.go the pages that show, survey.go, predictions.go, takeoff.go, soundtest.go, handover.go.
package pages
