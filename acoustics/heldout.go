package acoustics

import (
	"fmt"
	"strings"
)

// sourceLeftOut returns, for each row, how much too good its prediction is with the shared constants chosen again without any row of its source: of all
// [fitted.tries] the one with the least squares over the rows of the other sources, all families together. Rows that are doubtful or held
// out choose nothing and stay at 0.
func sourceLeftOut(all []Specimen) ([]float64, error) {
	tries := chosen.tries()
	errs := make([][]float64, len(all))
	for i, s := range all {
		if s.Doubtful != "" || s.HeldOut != "" {
			continue
		}
		errs[i] = make([]float64, len(tries))
		for t := range tries {
			p, err := s.build.predict(&tries[t])
			if err != nil {
				return nil, fmt.Errorf("row %s with other constants: %w", s.ID, err)
			}
			single, ok := p.single(s.Quantity)
			if !ok {
				return nil, fmt.Errorf("row %s: %q can't be predicted", s.ID, s.Quantity)
			}
			errs[i][t] = s.off(float64(single))
		}
	}
	best := map[string]int{}
	out := make([]float64, len(all))
	for i, s := range all {
		if errs[i] == nil {
			continue
		}
		author := s.author()
		t, known := best[author]
		if !known {
			t = leastSquares(all, errs, author)
			best[author] = t
		}
		out[i] = errs[i][t]
	}
	return out, nil
}

// leastSquares is the try that fits the rows of all sources but one best.
func leastSquares(all []Specimen, errs [][]float64, without string) int {
	best, least := 0, -1.0
	for t := range chosen.tries() {
		var sum float64
		for i, s := range all {
			if errs[i] != nil && s.author() != without {
				sum += errs[i][t] * errs[i][t]
			}
		}
		if least < 0 || sum < least {
			best, least = t, sum
		}
	}
	return best
}

// author is the first word group of the source: all tables of one book are one source.
func (s Specimen) author() string {
	name, _, _ := strings.Cut(s.Source, ",")
	return name
}
