package pages

// frame is what stands round every page.
type frame struct {
	Title   string // of the window
	Program Program
	Person  string
}

func (v *visit) frame(title string) frame {
	return frame{Title: title, Program: v.deps.Program, Person: v.who.Name}
}
