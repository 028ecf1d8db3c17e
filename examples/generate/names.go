package main

import (
	"slices"
	"strings"
	"time"
)

// plainNames are for birds that live or lived at home, one word each.
var plainNames = strings.Fields(`
Alder Amber Anise Arum Ash Aspen Aster Auburn Autumn Barley Basalt Bay Beech Birch Blaze Bracken Bramble Breeze Briar Brook
Broom Bryony Burdock Campion Caraway Cedar Chalk Cherry Cinder Cirrus Clay Clover Cobble Comfrey Copper Coral Cowslip Crag Crest
Cumin Cypress Dapple Dawn Dewdrop Dill Drift Dune Dusk Ebony Elder Elm Ember Fennel Fern Fjord Flax Flint Foxglove Frost
Furze Gale Garnet Ginger Glade Glen Gorse Granite Gravel Grove Gust Hail Harebell Hawthorn Haze Hazel Heath Heather Hemlock
Hickory Hollow Holly Honey Hornbeam Hyssop Indigo Iris Ivy Jasper Juniper Kestrel Knoll Larch Larkspur Laurel Lavender Lichen
Lightning Lilac Linden Ling Lovage Lupin Madder Maize Mallow Maple Marjoram Marl Marram Marsh Meadow Medlar Mint Mist Moor Moss
Mulberry Mustard Myrtle Nettle Nightfall Nutmeg Oak Oat Ochre Olive Onyx Opal Orchid Osier Oxlip Pebble Pepper Pine Pitch
Poppy Primrose Quartz Quince Ragwort Rain Rampion Reed Ridge Rill Rowan Rue Ruby Rush Russet Rye Saffron Sage Samphire Sand
Scree Sedge Senna Shale Shingle Slate Sleet Sloe Snow Sorrel Spark Spindle Spruce Squall Starling Stone Storm Sumac Summit
Tansy Tarn Tarragon Teasel Thicket Thistle Thorn Thrift Thunder Thyme Tide Timber Topaz Tormentil Tuff Umber Vale Valerian Verbena
Vetch Violet Walnut Willow Wisteria Woodruff Yarrow Yew Zinnia`)

// The names of other birds are put together from two parts.
var (
	firstParts  = strings.Fields("Ash Bell Bram Cald Clough Corrie Dal El Fen Gar Hal Hart Holm Is Kel Lang Lyn Mar Mor Nor Oran Pen Quill Ros Sal Sel Stan Tam Tarn Thorn Tor Ul Ven Wend Whin Wil Yar")
	secondParts = strings.Fields("a beck bre by da dale en fen fleet gill ia ine ka low ma mere na or ric sel si ta thwaite ven wick")
)

// nameAll names every bird that ever lived at home and was banded, and most
// others that were banded.
func (p *programme) nameAll() {
	next := 0
	plain := make([]string, len(plainNames))
	for i, j := range p.random.Perm(len(plainNames)) {
		plain[i] = plainNames[j]
	}
	used := map[string]bool{}
	for _, s := range plain {
		used[s] = true
	}
	for _, b := range p.birds {
		atHome := false
		for _, s := range b.stays {
			atHome = atHome || s.place == home
		}
		switch {
		case b.band == "":
		case atHome && next < len(plain):
			b.name = plain[next]
			next++
		case atHome || p.chance(620):
			for b.name == "" || used[b.name] {
				b.name = firstParts[p.random.IntN(len(firstParts))] + secondParts[p.random.IntN(len(secondParts))]
			}
			used[b.name] = true
		}
	}
}

// remark adds what a keeper notes about some birds, and blurs a few old dates
// that no other file depends on.
func (p *programme) remark() {
	causes := []string{"aspergillosis", "heart failure", "flew into the netting", "stone marten", "frostbite, did not recover", "lame; put to sleep"}
	for _, b := range p.birds {
		age := min(b.death, asOf) - b.hatch
		switch {
		case b.notes != "":
		case b.living() || b.band == "":
			if b.band == "" && !b.living() && p.chance(60) {
				b.notes = "fell from the nest"
			} else if b.living() && p.chance(30) {
				b.notes = "hand-reared"
			}
		case age >= years(22):
			b.notes = "died of old age"
		case p.chance(120):
			b.notes = causes[p.random.IntN(len(causes))]
		}
		if !b.living() && age > 400 && b.death < date(2006, time.January, 1) && p.chance(300) && !p.namedElsewhere(b) {
			b.deathText = b.death.time().Format("2006-01")
		}
	}
}

// namedElsewhere reports whether a bond, a chick or a move names the bird.
func (p *programme) namedElsewhere(b *bird) bool {
	return len(b.stays) > 1 || len(p.chicks(b)) > 0 ||
		slices.ContainsFunc(p.bonds, func(x *bond) bool { return x.female == b || x.male == b })
}
