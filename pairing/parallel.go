package pairing

import (
	"cmp"
	"context"
	"runtime"
	"sync/atomic"

	"github.com/sourcegraph/conc"
)

// inParallel calls do for 0 to n-1 on all cores and returns the error of the
// lowest number that has one.
func inParallel(ctx context.Context, n int, do func(k int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var wg conc.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for k := int(next.Add(1)) - 1; k < n; k = int(next.Add(1)) - 1 {
				if errs[k] = ctx.Err(); errs[k] == nil {
					errs[k] = do(k)
				}
			}
		})
	}
	wg.Wait()
	return cmp.Or(errs...)
}
