package report

// Term is a figure with what it means and where it is defined.
type Term struct {
	Anchor, Name, Means, Source string
}

// Glossary says what each figure means that a keeper meets, from the birds to
// the programme.
var Glossary = []Term{
	{"kinship", "Kinship", "The chance that a gene drawn from one bird and one drawn from the other are copies of the same founder's gene. Parent and chick, or full siblings: 0.25; half siblings: 0.125; first cousins: 0.0625.", "Malécot 1948"},
	{"inbreeding", "Inbreeding coefficient F", "The chance that the two genes of a bird at one place are copies of the same founder's gene: the kinship of its parents. From 0 to 1; from 0.125 on, unless set otherwise, no pair is formed.", "Wright 1922; Malécot 1948"},
	{"mean-kinship", "Mean kinship", "The mean of a bird's kinships with every living bird of the programme, itself included. The lower it is, the fewer relatives the bird has and the more its chicks are wanted; rank 1 has the lowest.", "Ballou & Lacy 1995"},
	{"gene-diversity", "Gene diversity", "1 less the mean of all kinships among the living: the share of the founders' gene diversity that the population still has. The usual goal is to keep 90% of it for 100 years.", "Lacy 1995; goal: Soulé et al. 1986"},
	{"worth", "Worth to the future", "How much of its breeding life a bird has before it: 1 for a chick, 0 for a bird past breeding. The season's decision counts every bird by it, so that genes which will soon be lost count for less.", "reproductive value: Fisher 1930, from memory"},
	{"gain", "Gain of a chick", "How much gene diversity changes by one chick of a pair. One chick changes little in a large programme, so it is given in millionths.", "exact change, after Ballou & Lacy 1995"},
	{"value", "Value of a pair", "The chicks to be expected of it over the coming seasons times the gain of each, less what a new bond and a move cost the birds.", "Pairwright's own; every part is in the notes of the answer"},
	{"net-gain", "Net gain", "The value of a pair less what its mate would be worth with somebody else. It says what the programme gains by just this pair, and mates are ranked by it. It belongs to the bird that the mate is for: for the other bird of the same pair it is another figure.", "the assignment problem: Kuhn 1955; its prices: Shapley & Shubik 1971"},
	{"verdict", "Verdict", "Recommended: net gain above zero, F of a chick below the preferred limit, at least half of the mate's ancestry known. Acceptable: net gain above zero and F within the limit. Not advised: neither. Ruled out: the pair cannot or must not be. Own mate stands for not advised where the two are bonded and stay together: they are weighed as if both were free again, and that is no word against their bond.", "Pairwright's own"},
	{"ahead-of", "Ahead of", "The share of all pairs possible in the programme that have a smaller value.", "Pairwright's own"},
	{"known-ancestry", "Known ancestry", "The share of a bird's genes that can be traced to founders from the wild. Where it is low, kinships look smaller than they are.", "common practice, no source"},
	{"parent-chance", "Chance of a parent by DNA", "How likely a bird is the parent of another by what a laboratory found of both, of the other parent, and of all others that could be it. From 95% on it is taken to be; the studbook is changed by a person alone.", "Kalinowski, Taper & Marshall 2007; Marshall et al. 1998"},
	{"uniqueness", "Genome uniqueness", "The chance that a gene drawn from a bird has no copy in any other living bird. It is drawn at random, so it has a standard error.", "gene drop: MacCluer et al. 1986"},
	{"founder-equivalents", "Founder equivalents", "How many founders that all contribute alike would give the same gene diversity but for what was lost by chance.", "Lacy 1989"},
	{"founder-genomes", "Founder genome equivalents", "How many founders without any loss would have the same gene diversity: 1 divided by twice the mean kinship.", "Lacy 1995; Caballero & Toro 2000"},
	{"effective-size", "Effective size", "The size of an ideal population that loses gene diversity as fast as this one. In a generation the share 1/(2 × effective size) is lost.", "Wright 1931; Hill 1979"},
	{"completeness", "Completeness of a pedigree", "How much of some generations of ancestors is known on both sides. An F from a pedigree with an index below about 0.6 is to be read with caution.", "MacCluer et al. 1983; the threshold is common practice, no source"},
	{"generations", "Equivalent complete generations", "How deep a pedigree is known: each known ancestor counts half of the one before it.", "Maignel et al. 1996"},
	{"ancestral", "Ancestral inbreeding", "The chance that a gene of a bird was in an inbred ancestor at some time.", "Ballou 1997"},
	{"lethal-equivalents", "Lethal equivalents", "How much inbreeding costs in survival: a chick with F lives with the chance exp(−B × F) of one that is not inbred, B being the lethal equivalents per gamete.", "Morton, Crow & Muller 1956; Ralls, Ballou & Templeton 1988"},
}
