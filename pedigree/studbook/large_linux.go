package studbook

import (
	"os"
	"syscall"
	"unsafe"
)

// large makes a list of n, and asks the system for memory in large pages where that is
// much: lists of a million birds are looked into everywhere, and to find a small page
// takes as long as to read what is in it.
func large[T any](n int) []T {
	list := make([]T, n)
	const worthIt = 4 << 20
	size, page := uintptr(n)*unsafe.Sizeof(*new(T)), uintptr(os.Getpagesize())
	if size < worthIt {
		return list
	}
	all := unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(list))), size)
	before := -uintptr(unsafe.Pointer(unsafe.SliceData(all))) % page                       // to the first whole page
	_ = syscall.Madvise(all[before:before+(size-before)/page*page], syscall.MADV_HUGEPAGE) // it is advice
	return list
}
