// Package demography counts birds and follows them through life: ages, deaths
// and hatches, survival curves, life tables, growth, the stable age structure
// and effective size.
//
// The statistics work on plain numbers and know no studbook:
//
//	interval.go   proportions and their intervals (Wilson, exact)
//	survival.go   Kaplan-Meier curves with censoring and late entry
//	lifetable.go  deaths, exposure, survival and chicks by age class
//	growth.go     R0, Euler-Lotka, generation length, life expectancy
//	leslie.go     the projection matrix and the stable age structure
//	worth.go      what a bird may still breed, against a chick just hatched
//	size.go       effective size and what it keeps of the gene diversity
//	trend.go      how a figure went over the years, and may go on
//
// A Census feeds them: it lays out where each bird of a studbook.Snapshot was on
// each day, and counts for one institution or for the whole programme.
//
//	census.go     where each bird was, and what was seen of its life
//	events.go     what happened, day by day
//	ledger.go     hatches, deaths and moves by year; ages and sexes on a day
//	breeding.go   who breeds, at what age, with how large families
//	outlook.go    first-year survival, the chicks that the next season needs
//
// Time is in years of studbook.DaysPerYear days, age in years from hatch, age
// class x is [x, x+1). Shares and chances are fractions in 0..1. What cannot
// be said is a Number or Proportion that is not Known: no function returns a
// NaN or an infinity.
package demography
