package commandline_test

import (
	"context"
	"fmt"
	"os"

	"github.com/alecthomas/kong"

	"tacet/acoustics"
	"tacet/server/commandline"
)

// Whatever goes wrong is one plain line, and bad input is exit code 2.
func ExampleRun() {
	var grammar struct {
		Board struct {
			Thickness float64 `arg:""`
		} `cmd:""`
	}
	code := commandline.Run("program", &grammar, []string{"board", "2000"}, os.Stdout, os.Stdout, func(context.Context, *kong.Context) error {
		return acoustics.ThicknessRange.Check("thickness_mm", grammar.Board.Thickness)
	})
	fmt.Println(code)
	// Output:
	// program: thickness_mm is 2000; give 0.1 to 1000 mm
	// 2
}
