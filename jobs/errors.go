package jobs

import (
	"errors"

	"tacet/acoustics"
)

// InputError is the project's one type for what a person or a program gave wrongly.
type InputError = acoustics.InputError

// Errors that callers tell apart.
var (
	ErrNotFound  = errors.New("not found")
	ErrAmbiguous = errors.New("fits more than one")
	ErrRefused   = errors.New("a rule does not allow this")
	ErrHash      = errors.New("the bytes do not have the hash that they should have")
)

// RuleError says which rule of the record does not allow an entry, in one plain line.
type RuleError struct{ Says string }

// Error is what the rule says.
func (e *RuleError) Error() string { return e.Says }

// Is makes every RuleError an ErrRefused.
func (e *RuleError) Is(target error) bool { return target == ErrRefused }

func refuse(says string) error { return &RuleError{Says: says} }
