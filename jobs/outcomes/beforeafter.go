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
func (t *tallies) beforeAfter() []Change {
	out := []Change{}
	for _, n := range jobs.NoiseKinds() {
		counted := at(t.changes, n.Code)
		c := Change{Noise: n.Code, Heard: n.Heard, Mean: counted.mean(), Unpaired: counted.unpaired}
		c.Enough = c.Mean.N >= FewestForRate
		out = append(out, c)
	}
	return out
}

// mean is that of the paired differences, which are whole numbers.
func (c *changeTally) mean() Mean {
	n, sum := 0, 0
	for i, k := range c.by {
		n += k
		sum += k * (i - 10)
	}
	if n == 0 {
		return Mean{}
	}
	mean, ss := float64(sum)/float64(n), 0.0
	for i, k := range c.by {
		d := float64(i-10) - mean
		ss += float64(k) * d * d
	}
	return meanFrom(n, mean, ss, Level)
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
