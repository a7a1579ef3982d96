package api_test

import (
	"fmt"
	"net/http/httptest"

	"github.com/gofiber/fiber/v2"

	"tacet/server/api"
)

// What a page of another site makes a browser send is refused; what a page of this very origin sends is not.
func ExampleSameSite() {
	app := fiber.New()
	app.Use(api.SameSite)
	app.Post("/record", func(c *fiber.Ctx) error { return c.SendStatus(fiber.StatusNoContent) })
	for _, from := range []string{"https://elsewhere.example", "http://office.example.org"} {
		request := httptest.NewRequest("POST", "http://office.example.org/record", nil)
		request.Header.Set("Origin", from)
		answer, err := app.Test(request, -1)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(from, answer.StatusCode < 300)
		answer.Body.Close()
	}
	// Output:
	// https://elsewhere.example false
	// http://office.example.org true
}
