package report

import (
	"fmt"

	"pairwright/cmd/pairwright/internal/document"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

// meanings says what the figures mean and which paper defines each; how the
// gene drop was run stands in it.
func meanings(iterations int, run string) document.List {
	return document.List{
		"Inbreeding coefficient F: the chance that the two genes a bird has at one place descend from one founder gene (Wright 1922; Malécot 1948).",
		"Kinship: the same chance for a gene of one bird and a gene of another; it is the F of their chick.",
		"Mean kinship: the mean of a bird's kinships with all living birds of the programme, itself included (Ballou & Lacy 1995). A low one means few relatives.",
		"Gene diversity: one minus the mean of all kinships among the living; the heterozygosity to expect, relative to the founders' source (Lacy 1989, 1995).",
		"Founder genome equivalents: the number of unrelated founders with the same gene diversity, 1/(2 × mean kinship) (Lacy 1995; Caballero & Toro 2000). Founder equivalents: the number of founders that would give the same evenness of shares (Lacy 1989).",
		fmt.Sprintf("Retention, founder genomes surviving and genome uniqueness come from a gene drop of %s iterations%s: genes are followed down the pedigree by chance (MacCluer et al. 1986). ± is the standard error.", document.FormatCount(iterations), run),
		"Known ancestry: the share of a bird's genes that traces to wild founders.",
		"Effective size: the size of an ideal population that loses gene diversity as fast. In the appendix, from inbreeding: Gutiérrez, Cervantes & Goyache 2009; from sexes: Wright 1931; from families: Kimura & Crow 1963.",
		"How long gene diversity lasts: its logarithm is taken to drift on as it did from year to year in the years named, with the range that its ups and downs give (Dennis, Munholland & Scott 1991, for numbers of birds). With an effective size, GD after t generations = GD now × (1 − 1/(2 × effective size))ᵗ. The usual goal is 90% for 100 years (Soulé et al. 1986).",
		"Survival: Kaplan & Meier 1958 with the standard error of Greenwood 1926; intervals of shares: Clopper & Pearson 1934; both at 95%.",
		"Ahead of: of a hundred pairs of the programme that might breed, how many are worth less than this one. What a pair is worth are its expected chicks over the next seasons times what a chick of it does for the gene diversity of birds weighted by what they may still breed, less what a new bond and a move cost.",
		"Advantage of a chick: the exact change in weighted gene diversity by one chick, less that by a chick of the average pair that may breed. In millionths.",
		"Chance of success of a pair: its record of clutches drawn toward the birds' records with other mates, and those toward the rate of their age class.",
	}
}

// Methods says what the figures mean, how the advice comes about, what its
// defaults rest on, and with what care to take it.
func Methods() *document.Document {
	defaults := &document.Table{Columns: []document.Column{{Name: "Setting", Key: true}, {Name: "Default"}, {Name: "Whose"}}}
	for _, s := range studbook.AllSettings() {
		if s.Default != "" {
			defaults.Rows = append(defaults.Rows, document.Row{Cells: []document.Cell{{Text: s.Key}, {Text: s.Default}, {Text: s.Source}}})
		}
	}
	return &document.Document{
		Title: "Methods",
		Lead:  "What the figures mean, how the advice comes about, and whose methods they are.",
		Sections: []document.Section{
			{Title: "What the figures mean", Blocks: []document.Block{meanings(pedigree.DefaultIterations, "")}},
			{Title: "How the advice comes about", Blocks: []document.Block{document.List{
				"The programme is every living bird of the studbook on the day asked for; a colony is those of them at one institution. Figures are of the programme unless they say otherwise.",
				"Every living bird counts with its worth: what it may still breed, in chicks just hatched, from the life table and the ages at which the recorded parents bred (reproductive value, Fisher 1930; as a weight of kinships, Ballou & Lacy 1995).",
				"What a pair is worth are the chicks to be expected of it over the seasons ahead, times the advantage of one of them, less the price of a new bond and of a move. Inbreeding lowers the chicks to be expected by exp(−B × F), with B the lethal equivalents per gamete (Ralls, Ballou & Templeton 1988).",
				"A bird with a mate keeps it: bonds are parted on a person's word alone. All free birds are given mates together, so that the sum of what the pairs are worth is largest, within the limits on inbreeding, holds, free places and moves; a move must gain at least what the settings ask.",
				"The net gain of a mate is what the programme gains by that pair, less what the two birds would do otherwise. Mates are ranked by it within their verdict: recommended, acceptable, not advised. Of two that are nearly equal the one that costs the birds less comes first.",
				"How many chicks each pair hatches is set so that gene diversity is largest for the number wanted, and each plan says how far from the best that can be it might be.",
				"An uncertain parent enters as the average over who it may be; an unknown one as an unrelated founder. How sure a rank is comes from possible pedigrees drawn at random, in each of which the decision is taken anew where few birds are free.",
				"Genotypes change no figure by themselves. They say how likely each bird is a parent (Kalinowski, Taper & Marshall 2007), and rule birds out that by sex, age and place could be: such a bird is no reason to doubt a pair any more. What is found counts once it is written down in the studbook.",
				"Whatever is drawn at random has a seed: the same files give the same answer, letter for letter.",
			}}},
			{Title: "Defaults", Blocks: []document.Block{defaults}},
			{Title: "With what care", Blocks: []document.Block{document.List{
				"All figures rest on the studbook as it stands. An unknown parent counts as an unrelated founder, so that kinship is too low and gene diversity too high where ancestry is unknown.",
				"Figures from a few birds move by chance from year to year; an interval that is wide is no reason to act.",
				"A pair bond cannot be forced. Parting a pair that is well settled costs more than the figures show; ask those who know the birds.",
			}}},
		},
		Footer: Advice,
	}
}
