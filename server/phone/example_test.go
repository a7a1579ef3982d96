package phone_test

import (
	"fmt"
	"net/http/httptest"

	"github.com/gofiber/fiber/v2"

	"tacet/server/phone"
)

// The program of a phone is the same for everybody: who asks for it is not asked who they are.
func ExamplePhone() {
	app := fiber.New()
	phone.New().Register(app)
	for _, path := range phone.Paths() {
		if path != "/phone" && path != "/phone/sw.js" {
			continue
		}
		answer, err := app.Test(httptest.NewRequest("GET", path, nil), -1)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(path, answer.StatusCode, answer.Header.Get("Content-Type"))
		answer.Body.Close()
	}
	// Output:
	// /phone 200 text/html; charset=utf-8
	// /phone/sw.js 200 text/javascript; charset=utf-8
}
