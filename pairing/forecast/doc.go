// Package forecast runs a programme forward year by year, bird by bird, under
// several ways to choose its pairs, to see what each of them keeps of the gene
// diversity.
//
//	rules.go     what a run starts from and what holds in it
//	programme.go the same of a real programme; suppose.go with changes made to it
//	flock.go     the living birds of one run, and their kinship carried forward
//	genes.go     founder genes dropped down the pedigree and followed through a run
//	year.go      one year: bonds and broods, hatches, deaths
//	policy.go    the ways to choose pairs: at random, by kinship, by a list made
//	             once a season; greedy.go one by one, by a list made anew or by
//	             the gain; decision.go by the season's decision
//	chance.go    random draws by what they are for
//	run.go       many runs on all cores, and what they come to
//	need.go      how many chicks, founders or places hold a goal
//
// But for programme.go it knows birds by number alone. Every draw of chance
// belongs to a bird and a year and not to a place in a sequence, so that
// policies are compared on the same luck, and any number of cores gives the
// same figures.
package forecast
