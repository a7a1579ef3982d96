package pages

import (
	"strings"

	"tacet/jobs"
)

var _ = register(Page{Name: "guide", Path: "/guide", Roles: everybody, Get: getGuide, View: guideView{}})

// guideView is the short guide: how to do what one's own role does, the words, and where each number comes from.
type guideView struct {
	frame
	Answer   string
	Roles    []guideRole
	Words    []pair
	Numbers  []guideNumber
	Cautions []string
	Notes    []string
}

// guideRole is the work of a role, step by step.
type guideRole struct {
	Title string
	Open  bool // the reader's own
	Steps []guideStep
}

type guideStep struct{ Do, How string }

// guideNumber is where a number comes from.
type guideNumber struct{ Name, Equation, Where, Source string }

func getGuide(v *visit) error {
	view := guideView{Answer: "How to work with Tacet", Words: guideWords, Numbers: guideNumbers,
		Notes: []string{"Sources are named where the value is calculated. Some standards were read in copies and not yet compared with the printed text: the program's own documentation says which.",
			"How near predictions come to measured build-ups is printed by: client calc validate. The generic materials with their spread: client materials."},
		Cautions: []string{"Tacet calculates; it approves nothing. For fire, structure, asbestos, handling, electrics and ventilation the local code and those licensed for it decide.",
			"A prediction is not a measurement, and a laboratory value is not a site value. What is measured on site says so."}}
	for _, r := range guideRoles {
		view.Roles = append(view.Roles, guideRole{Title: r.title, Steps: r.steps, Open: v.who.Guest == "" && r.role == v.who.Role})
	}
	view.frame = v.frame("Help")
	return v.show("guide", view)
}

var guideRoles = []struct {
	role  jobs.Role
	title string
	steps []guideStep
}{
	{jobs.Site, "On site", []guideStep{
		{"Open the surface", "Scan the square code on its sheet or label with the phone's camera, or type the 13 letters and digits beneath it. O and 0, I and 1 are the same."},
		{"Read the first line", "It says whether the next layer may go on, and with which screw. “Do not cover” names the checks that are open."},
		{"Record a layer in place", "Press the one button, change the mass if the board's print says another one, and save. What you recorded by mistake you take back within ten minutes, without giving a reason."},
		{"Answer a check", "Measure, take a photo with the code card and a rule in it, choose “Passed”, “Failed”, “Could not see it” or “Does not apply here”. A photo and a value count for more than a tick."},
		{"Say it is ready", "With the time when it will be covered: the supervisor's list is in that order."},
		{"Ask for another material", "Before it is fixed. The page shows what it does to mass and prediction."},
		{"Without signal", "Go on: all is saved on the device first and sent later. The line on top says how much waits."},
		{"Every phone is dead", "Fill in the printed sheet with a pen. Later open the surface and follow “Type in a sheet”: all of it on one page, in the order of the paper."},
	}},
	{jobs.Supervisor, "Supervisor", []guideStep{
		{"Open “To be seen”", "The first line is covered soonest. Photos stand beside what they have to show."},
		{"Answer", "Cover, put right, or coming. An answer names what you have seen, so that nobody can add to it afterwards."},
		{"Two people disagree", "Both records are kept, and it counts as not passed. Compare them side by side and rule on it, with your reason."},
		{"A record waits for the supervisor", "The rules of the firm do not let it count yet. Take it or refuse it; it stays in the history either way."},
		{"Covered unseen", "Stays counted. Ask for an opening, look with an endoscope, or accept it with the reason."},
		{"Sign off", "The page lists what nobody saw, and the sign-off says so."},
	}},
	{jobs.Office, "Office", []guideStep{
		{"Begin a job", "Press “A new job”, or import a file: client job import FILE. Print the empty survey sheet and take it along."},
		{"Survey", "The client's own words and their 0 to 10 before the work: this is never collectable later. Then rooms, surfaces, ways round, hazards."},
		{"Specify", "A line for each layer, outward from the structure. Warnings stand above the list while you write: no screw fits, too thick, too heavy, nothing seals."},
		{"Prediction", "The sentence first, then three predictions, then the bands. Flanking that is not known is said, not guessed."},
		{"Quote and order", "The quote freezes the prediction. The take-off has weights, stacks and screws; print the delivery sheet with it."},
		{"Sound tests", "Type the single number, or paste a measurement from a spreadsheet."},
		{"Hand over and ask", "“Handover pack, PDF” is all of it in one file; then ask the client after 1, 3 and 12 months. A client who does not reply counts as unknown."},
	}},
	{jobs.Owner, "Owner", []guideStep{
		{"People and devices", "Add a person, give a code for a device, cut a lost one off. What it has not sent is kept for you."},
		{"The firm's rule", "How long the site waits for an answer, and how many surfaces are looked at."},
		{"Outcomes", "Predicted beside measured, complaints with how many jobs they come from. Below five jobs no rate is shown."},
		{"A dispute", "Open the job, follow “Handover and after”, then “Dispute file with photos”: every version, photo and signature in one file that both sides can check."},
		{"Keep a copy", "client backup FILE on a device, server backup FILE on the server. Try a restore before you need it."},
	}},
}

var guideWords = []pair{
	{"Surface", "One wall, ceiling, floor, boxing, beam or pipe run. It has a code such as C1, which stands on its sheet."},
	{"Layer", "One line of the build-up, cavities included, numbered outward from the structure."},
	{"Specified, installed, achieved", "What was ordered; what lies there; the mass that it comes to."},
	{"Stop", "A check without which nothing is covered, unless a supervisor releases it."},
	{"Hold point", "The moment before a layer is covered."},
	{"Covered unseen", "The next layer went on before the stop checks had passed. It stays a fact."},
	{"Evidence 0 to 5", evidenceScale()},
	{"Waits for the supervisor", "Kept, and nobody counts on it until the supervisor has answered."},
	{"Disputed", "Two records that contradict each other. Both are kept; it counts as not passed."},
	{"Put right", "Was wrong, was mended, and waits for somebody else to accept it."},
	{"Flanking", "Sound that goes round the surface: by floors, walls, pipes, steel."},
	{"DnT,w + Ctr", "How much less is heard in the next room, as one number for living noise with bass. More is better. Measured on site."},
	{"Rw", "The same of the build-up alone, in a laboratory. Not a site value."},
	{"L′nT,w", "How loud footsteps are in the room below. Less is better."},
	{"±", "One standard uncertainty: the truth lies within it about two times in three."},
	{"Chance of passing", "How likely a test comes out right, given the prediction and its uncertainty."},
}

// guideNumbers names equations as they stand in the code, each with the source that its function names.
var guideNumbers = []guideNumber{
	{"Surface mass", "m′ = Σ m′ᵢ · share", "surface, sheet, take-off", "Arithmetic. The mass of a material: its data sheet, else the generic list with its spread."},
	{"Added load", "q = 9.81 m/s² · Σ m′ ÷ 1000", "surface, job, sheet", "Arithmetic. A sum, not a judgement: a structural engineer decides."},
	{"Critical frequency", "f_c = c₀²/(2π) · √(m′/B′)", "prediction", "ISO 12354-1, Annex B."},
	{"Mass and air resonance", "f₀ = (1/2π) · √(s′ · (1/m′₁ + 1/m′₂)), s′ = ρ₀c₀²/d for air", "prediction", "ISO 12354-1 (D.2) for the lining; the stack itself is calculated layer by layer."},
	{"Sound reduction index R", "R = −10 lg τ, τ averaged over directions", "prediction", "Layers as plates, cavities and porous fill in series; Vigran, Building Acoustics (2008), with the window of ISO 12354-1, Annex B; porous fill by Miki (1990)."},
	{"Bridges by studs, clips and screws", "τ = τ_cavity + τ_lines + τ_points", "prediction", "Davy (1991) as in Vigran (2008), eq. 8.27."},
	{"Damping membrane", "η of a sandwich from shear stiffness and bending", "prediction, wrap", "Ross, Kerwin and Ungar, as in Nashif, Jones and Henderson, Vibration Damping (1985)."},
	{"Leaks", "τ = (Σ S·τ + Σ L·w·τ_slit) ÷ S", "cost of a defect", "Arithmetic for the sum; slits by Gomperts and Kihlman (1967), as in Hopkins, Sound Insulation (2007)."},
	{"Rw, C, Ctr", "reference curve shifted until Σ of what falls short is at most 32.0 dB", "prediction, sound test", "ISO 717-1."},
	{"Ln,w, CI", "as above, of what is too loud", "prediction, sound test", "ISO 717-2."},
	{"Floating floor", "f₀ = 160 Hz · √(s′/m′), ΔL = 30 lg(f/f₀), 40 lg(f/f₀) where it is dry", "prediction", "ISO 12354-2, Annex C."},
	{"From the laboratory to the room", "D_nT = R′ + 10 lg(0.32 V/S)", "prediction", "ISO 12354-1, simplified model, with the ways round that are described."},
	{"A test on site", "D_nT = L₁ − L₂ + 10 lg(T/0.5 s), L₂ corrected for background", "sound test", "ISO 16283-1 and -2; uncertainty of the single number: ISO 12999-1, situation B."},
	{"± of a prediction", "u² = u²(model) + u²(input) + u²(what was not seen)", "prediction", "The spread of predicted against measured rows of the family: client calc validate."},
	{"Chance of passing", "Φ((prediction − limit) ÷ u)", "prediction, quote", "Arithmetic: 46 dB with u = 4 dB against 43 dB is 77 %."},
	{"Rates of complaints", "k of n, with 95 % intervals of Wilson and Clopper-Pearson", "outcomes", "Below five jobs no rate is shown."},
	{"Screw window", "board + what lies beneath + hold ≤ length ≤ that + clear depth", "surface, sheet, take-off", "Geometry; stock lengths: common practice, no source, changed by the firm."},
	{"Sheets, screws, sealant", "area · (1 + waste) ÷ sheet, rounded up; centres of screws", "take-off", "Standard specification clauses for plasterboard, or the firm's own figures; each is listed with its source."},
}

// evidenceScale says what evidence is worth, from 0 to 5.
func evidenceScale() string {
	var words []string
	for i, w := range evidenceWords {
		words = append(words, itoa(i)+" "+w)
	}
	return jobs.Capital(strings.Join(words, ", ")) + "."
}
