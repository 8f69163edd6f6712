//go:build !unix

package fluidics

import "time"

var started = time.Now()

// cpuTime is wall time where processor time is not to be had.
func cpuTime() time.Duration { return time.Since(started) }
