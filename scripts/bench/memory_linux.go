package main

import (
	"os"
	"syscall"
)

// peakMemory is the greatest resident set of an ended process in bytes; Linux
// counts it in KiB.
func peakMemory(p *os.ProcessState) int64 {
	if u, ok := p.SysUsage().(*syscall.Rusage); ok {
		return u.Maxrss << 10
	}
	return 0
}
