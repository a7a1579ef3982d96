package demo_test

import (
	"context"
	"fmt"
	"os"

	"tacet/client/demo"
)

// The story is played through the real path, and two devices end with the same job.
func ExampleOpen() {
	dir, err := os.MkdirTemp("", "tacet")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	firm, err := demo.Open(ctx, demo.Config{Dir: dir, Say: func(string) {}})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer firm.Close()
	onTablet, err := firm.JobOn(ctx, firm.Tablet)
	if err != nil {
		fmt.Println(err)
		return
	}
	onPhone, err := firm.JobOn(ctx, firm.Phone)
	if err != nil {
		fmt.Println(err)
		return
	}
	wall := onTablet.Surface("W1")
	fmt.Printf("%s, W1: specified %.1f kg/m², achieved %.1f kg/m²\n", onTablet.Name, wall.SpecifiedMass(), wall.InstalledMass())
	fmt.Println("on both devices:", onTablet.Surface("W1").InstalledMass() == onPhone.Surface("W1").InstalledMass())
	for _, d := range onPhone.DisputeViews() {
		fmt.Println("disputed:", d.Surface, d.About)
	}
	// Output:
	// 7b Lantern Row, W1: specified 33.0 kg/m², achieved 30.2 kg/m²
	// on both devices: true
	// disputed: C1 K23 Perimeter sealed
}
