package main

import (
	"cmp"
	"fmt"
	"io"
	"strconv"
	"strings"

	"tacet/jobs"
)

// showJob prints a job for people: the answer first, then a table for each surface. Specified, achieved and predicted
// are never in one column.
func showJob(out io.Writer, v jobs.JobView) error {
	p := &printer{w: out}
	p.line("%s", v.Name)
	if v.Site != "" {
		p.line("%s", v.Site)
	}
	p.line("id %s, %s", v.ID, jobs.Count(v.Entries, "record"))
	for _, t := range v.Targets {
		p.line("Target %s", targetText(t))
	}
	for _, d := range v.Disputes {
		p.line("Disputed: %s. Both are kept; it counts as not passed until a supervisor rules.", strings.TrimSpace(d.Surface+" "+d.About))
	}
	if v.Unread > 0 {
		p.line("%s by a newer version of this program: kept, and nothing is concluded from it.", jobs.Count(v.Unread, "record"))
	}
	for _, w := range v.Warnings {
		p.line("Warning: %s", w)
	}
	partitions := map[string]string{} // surface -> structure whose partition it is part of
	for _, st := range v.Structures {
		p.structure(v, st, partitions)
	}
	for _, s := range v.Surfaces {
		p.surface(s, partitions[s.Code])
	}
	for _, e := range v.Substitutions {
		p.substitution(e)
	}
	p.line("")
	p.line("Predicted values are calculated, each with its standard uncertainty (k = 1); none of them is measured. Nothing here")
	p.line("approves fire, structure, electrics or asbestos: that is for licensed people and local rules.")
	return p.err
}

// printer keeps the first error of a stretch of output.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}

func (p *printer) columns(write func(io.Writer)) {
	if p.err == nil {
		p.err = columns(p.w, write)
	}
}

// structure prints what carries several surfaces. They are one partition, so it is predicted here, once.
func (p *printer) structure(v jobs.JobView, st jobs.StructureView, partitions map[string]string) {
	var on []string
	for _, s := range v.Surfaces {
		if s.Structure == st.Code {
			on = append(on, s.Code)
		}
	}
	p.line("")
	p.line("%s  %s", st.Code, st.Name)
	p.line("    added load %s", loadText(st.AddedLoad, st.Limit))
	if st.Predicted == nil || len(on) < 2 {
		return
	}
	for _, code := range on {
		partitions[code] = st.Code
	}
	p.line("    %s are one partition", strings.Join(on, " and "))
	p.forecasts(*st.Predicted)
}

// substitution prints what waits for an answer, with what it does.
func (p *printer) substitution(e jobs.SubstitutionEffect) {
	p.line("")
	asks := "asked for"
	if e.State == jobs.AlreadyFixed {
		asks = "fixed already, nobody has agreed"
	}
	p.line("%s, layer %d: %s instead of %s: %s", e.Surface, e.Layer, e.New, e.Instead, asks)
	p.line("    mass      %s kg/m² without it, %s kg/m² with it", num(e.Without.MassKgM2, 1), num(e.With.MassKgM2, 1))
	p.line("    thickness %s mm without it, %s mm with it", num(e.Without.ThicknessMM, 1), num(e.With.ThicknessMM, 1))
	if a, b := e.Without.OnStructure, e.With.OnStructure; a != nil && b != nil {
		p.line("    load      %s without it, %s with it", loadText(*a, e.Without.LoadLimit), loadText(*b, e.With.LoadLimit))
	} else {
		p.line("    load      %s without it, %s with it", loadText(e.Without.LoadKNM2, e.Without.LoadLimit), loadText(e.With.LoadKNM2, e.With.LoadLimit))
	}
	for i, w := range e.Without.Screws {
		if i < len(e.With.Screws) {
			p.line("    screw of layer %d: %s without it, %s with it", w.Layer, screwText(w.ScrewView), screwText(e.With.Screws[i].ScrewView))
		}
	}
	for _, f := range []struct {
		basis string
		f     jobs.Forecast
	}{{"without it", e.Without.Predicted}, {"with it", e.With.Predicted}} {
		if f.f.RwDB != nil {
			p.line("    predicted %s: Rw %d dB ± %s dB", f.basis, *f.f.RwDB, num(*f.f.UDB, 1))
		}
	}
}

func screwText(w jobs.ScrewView) string {
	if w.StockMM == nil {
		return "none in stock fits " + num(w.MinMM, 1) + " to " + num(w.MaxMM, 1) + " mm"
	}
	return num(*w.StockMM, 0) + " mm"
}

func (p *printer) surface(s jobs.SurfaceView, partition string) {
	p.line("")
	p.line("%s  %s, %s m²", s.Code, strings.ReplaceAll(string(s.Kind), "_", " "), num(s.AreaM2, 2))
	p.line("    mass      specified %s kg/m², achieved so far %s kg/m²", num(s.SpecifiedMass, 1), num(s.InstalledMass, 1))
	p.line("    adds      %s mm, %s kN/m²", num(s.ThicknessMM, 1), num(s.AddedLoad, 2))
	if partition == "" {
		p.forecasts(s.Predicted)
	} else {
		p.line("    predicted as a part of %s, above", partition)
	}
	p.columns(func(w io.Writer) {
		for _, l := range s.Layers {
			fitted := "-"
			if l.Share > 0 {
				fitted = num(l.InstalledMass, 1) + " kg/m²"
			}
			fmt.Fprintf(w, "    %d\t%s\tspecified %s kg/m²\tfitted %s\tshare %s\t%s\n", l.N, l.Name, num(l.SpecifiedMass, 1), fitted,
				num(l.Share, 2), strings.ReplaceAll(string(l.State), "_", " "))
		}
	})
	passed, stops := 0, []string{}
	for _, c := range s.Checks {
		if c.State == jobs.CheckPassed {
			passed++
		}
		if c.Stop && c.State != jobs.CheckPassed && c.State != jobs.CheckNotApplicable && !c.Released {
			stops = append(stops, checkText(c))
		}
		if c.Weak {
			stops = append(stops, checkText(c)+", said so only")
		}
	}
	p.line("    checks    %d of %d passed", passed, len(s.Checks))
	if len(stops) > 0 {
		p.line("    stop      %s", strings.Join(stops, ", "))
	}
	for _, w := range s.Warnings {
		p.line("    note      %s", w)
	}
	p.quoted(s)
	for _, c := range s.Cautions {
		if c.Open {
			p.line("    open      %s: %s It is for %s (%s).", c.Code, c.Asks, c.Who, cmp.Or(c.Again, c.Why))
		}
	}
}

// quoted prints what was predicted when the surface was quoted: it never changes afterwards.
func (p *printer) quoted(s jobs.SurfaceView) {
	f := s.Frozen
	if f == nil {
		return
	}
	says := "not predicted"
	if f.RwDB != nil && f.UDB != nil {
		says = fmt.Sprintf("Rw %s dB, u %s dB", num(*f.RwDB, 0), num(*f.UDB, 1))
	}
	if f.DnTwCtrDB != nil && f.USiteDB != nil {
		says += fmt.Sprintf("; between rooms DnT,w + Ctr %s dB, u %s dB", num(*f.DnTwCtrDB, 0), num(*f.USiteDB, 1))
	}
	if f.Respecified {
		says += "; specified anew since"
	}
	p.line("    quoted    %s: predicted then %s", f.At[:10], says)
}

func checkText(c jobs.CheckView) string {
	where := ""
	if c.Layer != nil {
		where = " layer " + strconv.Itoa(*c.Layer)
	}
	return c.Code + where + " " + strings.ReplaceAll(string(c.State), "_", " ")
}

// forecasts prints the three predictions, a line each, and then once what is to be known about them.
func (p *printer) forecasts(f jobs.Forecasts) {
	three := []struct {
		name string
		jobs.Forecast
	}{{"specified", f.Specified}, {"installed", f.Installed}, {"as found", f.AsFound}}
	of := map[string][]string{} // note -> predictions that it belongs to
	var notes []string
	predicted := 0
	for _, t := range three {
		if t.RwDB == nil {
			p.line("    predicted %s: none; %s", t.name, strings.Join(t.Notes, "; "))
			continue
		}
		predicted++
		p.line("    predicted %s: %s", t.name, forecastText(t.Forecast))
		for _, n := range t.Notes {
			if of[n] == nil {
				notes = append(notes, n)
			}
			of[n] = append(of[n], t.name)
		}
	}
	for _, n := range notes {
		if len(of[n]) == predicted {
			p.line("        %s", n)
		} else {
			p.line("        %s: %s", strings.Join(of[n], ", "), n)
		}
	}
}

func forecastText(f jobs.Forecast) string {
	says := fmt.Sprintf("Rw %d dB (C %d, Ctr %d), u %s dB", *f.RwDB, whole(f.CDB), whole(f.CtrDB), number(f.UDB, 1))
	if f.DnTwCtrDB != nil {
		says += fmt.Sprintf("; between rooms DnT,w + Ctr %s dB", number(f.DnTwCtrDB, 0))
		if f.USiteDB != nil {
			says += fmt.Sprintf(", u %s dB", number(f.USiteDB, 1))
		}
	}
	if f.LnTwDB != nil {
		says += fmt.Sprintf("; L′nT,w %s dB", number(f.LnTwDB, 0))
	}
	if f.PMeets != nil && f.Target != nil {
		says += fmt.Sprintf("; chance to meet %s: ", targetText(jobs.Target{Quantity: f.Target.Quantity, ValueDB: f.Target.ValueDB}))
		if f.FlankingUnknown && f.Target.Quantity != jobs.Rw {
			says += atMost(*f.PMeets) + ", flanking not known"
		} else {
			says += chance(*f.PMeets)
		}
	}
	return says
}

// chance never says never, nor certainly: the model is not that sure of itself.
func chance(p float64) string {
	switch {
	case p > 0.99:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	}
	return num(p*100, 0) + " %"
}

// atMost is a chance that leaves out what goes round: the finished work is worse.
func atMost(p float64) string {
	if p < 0.01 {
		return chance(p)
	}
	return "at most " + num(min(p, 0.99)*100, 0) + " %"
}

func targetText(t jobs.Target) string {
	least := "at least"
	if t.Impact() {
		least = "at most"
	}
	says := fmt.Sprintf("%s %s %s dB", jobs.QuantityName(t.Quantity), least, strconv.FormatFloat(t.ValueDB, 'f', -1, 64))
	for _, of := range []struct{ what, is string }{{"surface", t.Surface}, {"room", t.Room}, {"element", t.Element}} {
		if of.is != "" {
			says += ", for " + of.what + " " + of.is
		}
	}
	if t.Source != "" {
		says += " (" + t.Source + ")"
	}
	return says
}

func loadText(load float64, limit *float64) string {
	if limit == nil {
		return num(load, 2) + " kN/m², no limit agreed; a structural engineer decides"
	}
	return fmt.Sprintf("%s of %s kN/m² agreed", num(load, 2), num(*limit, 2))
}

func num(v float64, places int) string { return strconv.FormatFloat(v, 'f', places, 64) }

func number(v *float64, places int) string {
	if v == nil {
		return "-"
	}
	return num(*v, places)
}

func whole(v *int) int {
	if v == nil {
		return 0
	}
	return *v
}
