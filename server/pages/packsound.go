package pages

import (
	"slices"

	"tacet/jobs"
	"tacet/server/paper"
)

func (p packer) test(v jobs.TestVerdict) paper.PackTest {
	d := v.Test
	quantity := jobs.QuantityName(d.Quantity)
	t := paper.PackTest{Quantity: quantity, Rooms: d.SourceRoom + " to " + d.ReceivingRoom, Measured: "measured " + levelOf(v.MeasuredDB), Notes: v.Notes,
		By: "By " + d.Body + ", " + p.date(v.Record.DoneAt())}
	if d.Accreditation != "" {
		t.By += ", accreditation " + d.Accreditation
	}
	if d.TestNo != "" {
		t.By += ", test " + d.TestNo
	}
	if d.Condition != "" {
		t.Notes = append([]string{"Condition: " + d.Condition}, t.Notes...)
	}
	if v.Limit != nil {
		t.Limit = "Limit " + targetWords(*v.Limit)
		t.Verdict = map[bool]string{true: "passes", false: "fails"}[*v.Passes]
		t.Margin = map[bool]string{true: "margin ", false: "short by "}[*v.Passes] + levelOf(max(*v.MarginDB, -*v.MarginDB))
	}
	if v.Fails() && v.PutRight != nil {
		t.Notes = append(slices.Clip(t.Notes), "put right on "+p.date(v.PutRight.DoneAt())+"; a new test is wanted")
	}
	if v.PredictedDB != nil {
		t.Predicted = "Predicted " + predictedOf(*v.PredictedDB)
		if v.UDB != nil {
			t.Predicted += plusMinus + uncertainty(*v.UDB) + thin + "dB"
		}
		t.Predicted += " " + quantity + " for " + v.Predicted
		if v.Frozen != "" {
			t.Predicted += ", as it stood in the quote"
		}
	}
	return t
}
