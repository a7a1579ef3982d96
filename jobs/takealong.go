package jobs

import (
	"reflect"

	"tacet/acoustics"
)

// Names lists the entries that a record names by itself because of what is known as it is made: the layer list that it counts in, the
// answers it was given in view of. A phone without a signal has them from here.
func (j *Job) Names(what Recording) []Ref {
	if n, ok := what.(interface{ names(*Job) []Ref }); ok {
		return n.names(j)
	}
	return nil
}

// LayerBody is a layer in the form that a body has: measured numbers as text.
func LayerBody(l acoustics.Layer) (any, error) {
	tree, err := treeOf(l)
	if err != nil {
		return nil, err
	}
	return walk(reflect.TypeFor[acoustics.Layer](), tree, true)
}
