package jobs

// CautionQuestion is a question that a licensed or competent person has to answer. The program asks; it never answers.
type CautionQuestion struct {
	Code string
	Asks string
	Who  string
}

// Codes of the questions.
const (
	CautionLoad        = "load"
	CautionFire        = "fire"
	CautionAsbestos    = "asbestos"
	CautionElectrics   = "electrics"
	CautionVentilation = "ventilation"
	CautionHandling    = "handling"
)

var cautionQuestions = []CautionQuestion{
	{CautionLoad, "May this structure carry the added load?", "a structural engineer"},
	{CautionFire, "Does the surface separate dwellings, protect an escape route or hold a beam, and what fire resistance does it need?", "whoever answers for fire safety under the local code"},
	{CautionAsbestos, "Was asbestos looked for where coatings, boards or lagging are from before 2000?", "a competent asbestos surveyor"},
	{CautionElectrics, "Are cables and fittings safe in wool and behind boards?", "a registered electrician"},
	{CautionVentilation, "Do fans, vents and appliances that need air still have it?", "a competent heating or ventilation engineer"},
	{CautionHandling, "How are heavy boards carried and lifted overhead?", "whoever answers for safe work on this site"},
}

// CautionQuestions lists the questions.
func CautionQuestions() []CautionQuestion { return cautionQuestions }

// CautionCodes lists their codes.
func CautionCodes() []string {
	codes := make([]string, len(cautionQuestions))
	for i, q := range cautionQuestions {
		codes[i] = q.Code
	}
	return codes
}
