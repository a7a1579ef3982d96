// Command server is a company's sync server: it takes in what its devices recorded, hands it on, and serves the supervisors' pages.
package main

import "tacet/server/app"

func main() { app.Main() }
