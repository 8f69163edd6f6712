package main

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
)

// population is the spread the rows are drawn from: Hoffmann and Hütz 2010,
// 23,239 eyes, axial length and anterior chamber depth; K from the mean
// radius 7.69 ± 0.28 mm. Drawn independently: the bench needs plausible
// numbers, not a true cohort.
var population = struct{ length, lengthSD, acd, acdSD, radius, radiusSD float64 }{23.43, 1.51, 3.11, 0.43, 7.69, 0.28}

const header = "id,side,axial_length_mm,axial_length_method,k_flat_d,k_steep_d,keratometric_index,acd_mm,target_d,a,sf_mm,pacd_mm,a0,a1,a2\n"

// constants are a set used for reference grids; they belong to no particular lens.
const constants = "118.4,1.4499,5.1987,1.5269,0.4,0.1"

// writeEyes writes n eyes, the same for the same n.
func writeEyes(name string, n int) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriterSize(f, 1<<20)
	if _, err := w.WriteString(header); err != nil {
		return err
	}
	chance := rand.New(rand.NewPCG(1, 2010))
	near := func(mean, sd, low, high float64) float64 { return min(max(mean+sd*chance.NormFloat64(), low), high) }
	for i := range n {
		side := "right"
		if i%2 == 1 {
			side = "left"
		}
		p := population
		k, half := 337.5/near(p.radius, p.radiusSD, 6.8, 8.6), near(0.5, 0.4, 0, 2)
		_, err := fmt.Fprintf(w, "%d,%s,%.2f,optical,%.2f,%.2f,1.3375,%.2f,0,%s\n", i+1, side,
			near(p.length, p.lengthSD, 19, 32), k-half, k+half, near(p.acd, p.acdSD, 1.8, 4.5), constants)
		if err != nil {
			return err
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.Close()
}
