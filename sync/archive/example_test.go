package archive_test

import (
	"bytes"
	"errors"
	"fmt"

	"tacet/jobs"
	"tacet/sync/archive"
)

// A file that is no archive is refused in one line.
func ExampleVerify() {
	_, err := archive.Verify(bytes.NewReader([]byte("hello")), 5)
	var input *jobs.InputError
	fmt.Println(errors.As(err, &input), input.Field)
	// Output: true archive
}
