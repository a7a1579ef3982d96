package photo_test

import (
	"fmt"

	"tacet/sync/photo"
)

func ExamplePrepare() {
	_, err := photo.Prepare("photos[0]", []byte("a shopping list"))
	fmt.Println(err)
	// Output: photos[0] is not a picture; give JPEG or PNG
}
