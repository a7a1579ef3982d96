package pagestest

import "tacet/jobs"

// Office plays the office's side of 7b Lantern Row: who asked, what was found before the work, the quote, a sound test that
// fails, the handover with a question not yet asked, a complaint. All of it is invented.
func (w *World) Office() {
	w.t.Helper()
	office := func(edges ...string) { w.t.Helper(); w.Record(Maren, jobs.Supervisor, Job, edges...) }
	office(`{"do":"enquiry","asks":"occupier","name":"R. Halloran (invented)","words":"We hear every word of their television and the baby. It is worst after ten.","heard":["voices","footsteps"],"rooms":["front bedroom"],"when":"evenings","built_year":1890,"cannot_promise":["silence"]}`,
		`{"do":"survey","surface":"C1","category":"structure","finding":"Joists 50 x 225 at 400","known":"drilled","test":"endoscope"}`,
		`{"do":"survey","surface":"W1","category":"service","finding":"Two socket boxes","known":"seen","boxes":2}`,
		`{"do":"survey","category":"agreement","finding":"Neighbour's consent to the party wall work","known":"guessed","who":"the client"}`,
		`{"do":"flanking","surface":"W1","path":"chimney_breast","decision":"tell_client","heard":true}`,
		`{"do":"flanking","surface":"W1","path":"floor_under_wall","decision":"treat","treated_by":"F1"}`)
	office(`{"do":"quote","price":8450,"currency":"GBP","valid_until":"2026-12-24"}`)
	office(`{"do":"sound_test","quantity":"dntw_ctr","value_db":41,"source_room":"Flat 7a, living room","receiving_room":"Flat 7b, bedroom","direction":"up","surfaces":["C1"],"body":"An invented tester","method":"ISO 16283-1:2014"}`)
	office(`{"do":"complaint","surface":"W1","words":"We still hear the television at night.","kind":"voices","received":"2026-11-25"}`,
		`{"do":"sign","name":"R. Halloran (invented)","role":"client","statement":"accepted","what":"The work as shown in the handover pack"}`)
	w.Record(Maren, jobs.Supervisor, Company, `{"do":"material","id":"dense-board","name":"dense board","kinds":["board"],"masses":[{"thickness_mm":15,"mass_kg_m2":12.6}],"spread":"± 3 %","source":"data sheet (invented)"}`,
		`{"do":"price","id":"clip","item":"clip","unit":"piece","price":1.8,"currency":"GBP","source":"invented"}`)
}
