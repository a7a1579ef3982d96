package demo_test

import (
	"context"
	"strings"
	"testing"

	"tacet/client/demo"
)

// What the invented firm says passed meets what its own checks ask: whoever learns from the story learns nothing wrong.
func TestWhatPassedInTheStoryMeetsItsCriterion(t *testing.T) {
	ctx := context.Background()
	firm, err := demo.Open(ctx, demo.Config{Dir: t.TempDir(), Say: func(string) {}})
	if err != nil {
		t.Fatal(err)
	}
	defer firm.Close()
	list, err := firm.Tablet.Replica.Jobs(ctx, firm.Tablet.Me.Company)
	if err != nil {
		t.Fatal(err)
	}
	screws := 0
	for _, row := range list {
		j, err := firm.Tablet.Replica.Job(ctx, firm.Tablet.Me.Company, row.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range j.Records {
			says := j.Says(r)
			if strings.HasPrefix(says, "K19 pass") {
				screws++
			}
			if r.Kind == "check" && strings.Contains(says, "pass") && strings.Contains(says, "outside") {
				t.Errorf("%s, %s layer %d: %s", j.Name, r.On.Surface, r.On.Layer, says)
			}
		}
	}
	if screws < 4 {
		t.Errorf("the story says of %d layers that the screws pass", screws)
	}
}
