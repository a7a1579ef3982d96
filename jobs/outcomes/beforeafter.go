package outcomes

import "tacet/jobs"

// Change is how the noise was judged after the work less before, 0 to 10, in the same homes: below 0 is better.
type Change struct {
	Noise string `json:"noise"`
	Heard string `json:"heard"`
	Mean  Mean   `json:"mean"`
	// Unpaired are homes that answered on one side only.
	Unpaired int `json:"unpaired"`
	// Enough: at least five pairs.
	Enough bool `json:"enough"`
}

// beforeAfter pairs each job's baseline with its last answered follow-up, by kind of noise.
func beforeAfter(fs []*Facts) []Change {
	out := []Change{}
	for _, n := range jobs.NoiseKinds() {
		var before, after []float64
		unpaired := 0
		for _, f := range fs {
			b, asked := f.Baseline[n.Code]
			a, answered := f.lastAnswer(n.Code)
			switch {
			case asked && answered:
				before, after = append(before, float64(b)), append(after, float64(a))
			case asked != answered:
				unpaired++
			}
		}
		c := Change{Noise: n.Code, Heard: n.Heard, Mean: Paired(before, after, Level), Unpaired: unpaired}
		c.Enough = c.Mean.N >= FewestForRate
		out = append(out, c)
	}
	return out
}

// lastAnswer is the answer of the latest month that answered on a kind of noise.
func (f *Facts) lastAnswer(noise string) (answer int, ok bool) {
	month := 0
	for _, u := range f.FollowUps {
		if v, given := u.Answers[noise]; given && u.Month >= month {
			month, answer, ok = u.Month, v, true
		}
	}
	return answer, ok
}
