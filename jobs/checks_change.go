package jobs

// Changes.

var _ = registerCheck(CheckRule{
	Code: "K47", Stage: "change", Title: "Substitutions answered",
	Accept: "Every substitution was recorded and answered before it was fixed.",
	How:    "The record.", Photo: "C",
	Fault:      "Nobody knows what it does.",
	Stop:       true,
	Unmeasured: true,
	Whole:      isAny,
})
