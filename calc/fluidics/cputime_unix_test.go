//go:build unix

package fluidics

import (
	"syscall"
	"time"
)

// cpuTime is the processor time this process has used: what a benchmark costs
// when other work shares the machine.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
