package main

import (
	_ "linn/internal/transfer/gs1io" // its findings
)
