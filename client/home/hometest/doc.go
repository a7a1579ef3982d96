// Package hometest is a firm's server on this machine, with its people, for tests of what a home does with it.
package hometest
