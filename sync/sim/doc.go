// Package sim plays the record and the exchange in one process, with devices, servers, clock, network and disks under its
// control: what is drawn from a seed happens in the same order again. It holds tests only.
//
//	memory_test.go  a store in memory, held to the contract of the databases; a snapshot is a backup, a copy of a disk
//	world_test.go   servers on one store, devices, the wire between them and what goes wrong on it
//	judge_test.go   what must be true when all faults have ended; it shares no code with package replica
//	play_test.go    the schedules: rapid draws them, so that one that fails shrinks and is kept
//	plant_test.go   faults planted on purpose, to see that the judge finds them
package sim
