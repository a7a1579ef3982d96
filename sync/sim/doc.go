// Package sim plays the record and the exchange in one process, with devices, servers, clock, network and disks under its
// control: what is drawn from a seed happens in the same order again. It holds tests only.
//
//	disk_test.go       what a device or a server keeps its record on; memory_test.go: in memory (and memory*_test.go);
//	                   real_test.go: SQLite files, a PostgreSQL database with two servers
//	world_test.go      a company: two servers on one database, and its devices (device_test.go)
//	line_test.go       the wire between them and what goes wrong on it
//	actions_test.go    what may happen in a schedule
//	play_test.go       a schedule: drawn, played, ended, shrunk
//	judge_test.go      what must be true when all faults have ended; it shares no code with package replica
//	found_test.go      what schedules have found
//	schedules_test.go  the tests: schedules from seeds, and faults planted on purpose (plant_test.go), to see that the judge
//	                   finds them
package sim
