package jobs

import (
	"errors"

	"tacet/acoustics"
)

const maxLayers = 40

// validExisting checks the layers of what stands there already: real layers only.
func validExisting(path string, layers []acoustics.Layer) error {
	for i, l := range layers {
		switch l.Element.(type) {
		case FillExisting, RemoveExisting:
			return &InputError{Field: path + "[" + itoa(i) + "].kind", Value: l.Kind(), Hint: "this is work on what exists; it belongs into the specified layers"}
		}
	}
	return validLayers(path, layers)
}

func validLayers(path string, layers []acoustics.Layer) error {
	if len(layers) > maxLayers {
		return &InputError{Field: path, Value: itoa(len(layers)), Range: "at most " + itoa(maxLayers) + " layers"}
	}
	for i, l := range layers {
		at := path + "[" + itoa(i) + "]"
		if l.Element == nil {
			return &InputError{Field: at, Value: "missing", Range: "a layer"}
		}
		if err := l.Valid(at); err != nil {
			return firstOf(err)
		}
	}
	return nil
}

// firstOf takes the first of joined errors: one plain line.
func firstOf(err error) error {
	var input *InputError
	if errors.As(err, &input) {
		return input
	}
	return err
}

// work tells the existing layer that a specified layer works on, 0 for one that is added.
func workOnExisting(l acoustics.Layer) int {
	switch e := l.Element.(type) {
	case FillExisting:
		return e.Existing
	case RemoveExisting:
		return e.Existing
	}
	return 0
}

// fitsExisting checks that work on the existing structure finds something to work on.
func fitsExisting(path string, specified, existing []acoustics.Layer) error {
	for i, l := range specified {
		n := workOnExisting(l)
		if n == 0 {
			continue
		}
		at := path + "[" + itoa(i) + "].existing"
		if n > len(existing) {
			return &InputError{Field: at, Value: itoa(n), Range: "1 to " + itoa(len(existing)), Hint: "the existing structure has " + Count(len(existing), "layer")}
		}
		if fill, ok := l.Element.(FillExisting); ok {
			cavity, ok := existing[n-1].Element.(acoustics.Cavity)
			if !ok {
				return &InputError{Field: at, Value: itoa(n), Hint: "existing layer " + itoa(n) + " is no cavity but " + existing[n-1].Kind()}
			}
			if fill.Fill.ThicknessMM > cavity.Depth {
				return &InputError{Field: path + "[" + itoa(i) + "].fill.thickness_mm", Value: trim(fill.Fill.ThicknessMM), Range: "at most " + trim(cavity.Depth), Unit: "mm"}
			}
		}
	}
	return nil
}
