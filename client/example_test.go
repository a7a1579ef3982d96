package main

import (
	"os"
	"strings"
)

// One command line of the client, without a process of its own: a rating by ISO 717-1, Annex C, Table C.1.
func Example() {
	in := `{"quantity":"airborne","resolution":"third-octave","values_db":{"100":20.4,"125":16.3,"160":17.7,"200":22.6,"250":22.4,
	  "315":22.7,"400":24.8,"500":26.6,"630":28.0,"800":30.5,"1000":31.8,"1250":32.5,"1600":33.4,"2000":33.0,"2500":31.0,"3150":25.5}}`
	run([]string{"calc", "rating"}, stdio{In: strings.NewReader(in), Out: os.Stdout, Err: os.Stdout})
	// Output: {"single_number_db":30,"c_db":-2,"ctr_db":-3,"unfavourable_sum_db":31.8,"one_decimal_db":30}
}
