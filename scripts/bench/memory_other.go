//go:build !linux

package main

import "os"

// peakMemory is 0: not measured on this system.
func peakMemory(*os.ProcessState) int64 { return 0 }
