package exchange

import (
	"strings"
	"sync"
	"unicode"

	"pairwright/pedigree/studbook"
)

// lexicon is a list of words and phrases with what they mean.
type lexicon[T comparable] struct {
	meaning map[string]T // by key
	phrases map[string][]phrase[T]
}

// phrase is a run of words that means something inside a longer text.
type phrase[T comparable] struct {
	words []string
	means T
}

func newLexicon[T comparable](lists map[T]string, order []T) *lexicon[T] {
	l := &lexicon[T]{meaning: make(map[string]T), phrases: make(map[string][]phrase[T])}
	for _, t := range order {
		for w := range strings.SplitSeq(lists[t], "|") {
			w = strings.TrimSpace(w)
			k := key(w)
			if k == "" {
				l.meaning[w] = t // a sign
				continue
			}
			if _, there := l.meaning[k]; there {
				continue
			}
			l.meaning[k] = t
			if run := tokens(w); len(run) > 0 {
				l.phrases[run[0]] = append(l.phrases[run[0]], phrase[T]{run, t})
			}
		}
	}
	return l
}

// whole returns what a cell means that is one of the words or phrases.
func (l *lexicon[T]) whole(s string) (T, bool) {
	k := key(s)
	if k == "" {
		k = strings.TrimSpace(s)
	}
	t, ok := l.meaning[k]
	return t, ok
}

// within returns what the phrases inside a text mean: that of the longest one
// at its beginning, else the only meaning there is; several that differ mean
// nothing.
func (l *lexicon[T]) within(s string) (means T, ok bool) {
	if t, ok := l.whole(s); ok {
		return t, true
	}
	run := tokens(s)
	var none T
	for i, w := range run {
		best := 0
		var here T
		for _, p := range l.phrases[w] {
			if len(p.words) > best && len(run)-i >= len(p.words) && startsWith(run[i:], p.words) {
				best, here = len(p.words), p.means
			}
		}
		switch {
		case best == 0:
		case i == 0:
			return here, true
		case !ok:
			means, ok = here, true
		case means != here:
			return none, false
		}
	}
	return means, ok
}

func startsWith(run, words []string) bool {
	for i, w := range words {
		if run[i] != w {
			return false
		}
	}
	return true
}

// tokens cuts a text into its words, without case and accents.
func tokens(s string) []string {
	var out []string
	if studbook.ASCII(s) { // most cells, without the tables of Unicode
		for from := 0; from < len(s); from++ {
			to := from
			for to < len(s) && (isLetter(s[to]) || s[to] >= '0' && s[to] <= '9') {
				to++
			}
			if to > from {
				out = append(out, key(s[from:to]))
				from = to
			}
		}
		return out
	}
	for w := range strings.FieldsFuncSeq(s, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) && !unicode.IsMark(c) }) {
		out = append(out, key(w))
	}
	return out
}

// nobody is what a parent's cell says that names no bird.
type nobody byte

const (
	unknownParent nobody = iota + 1
	wildParent
	severalParents
)

var nobodyWords = sync.OnceValue(func() *lexicon[nobody] {
	return newLexicon(map[nobody]string{
		unknownParent: "not ringed|unringed|no ring|not banded|unbanded|no band|ohne ring|unberingt|sans bague|non bagué|non baguée|sin anilla|sin anillar|sem anilha|senza anello|ongeringd|geen ring|unknown|unk|unkn|unknwn|not known|not recorded|no record|no data|none|nil|na|n/a|nd|n.d.|null|undetermined|undet|indet|missing|tbd|tbc|nobody|nn|n/k|nk|not given|0|00|000|#N/A|#REF!|#VALUE!|#NAME?|?|??|???|-|--|---|–|—|.|…|...|/|\\|*|" +
			"unknown sire|unknown dam|unknown male|unknown female|unknown father|unknown mother|unknown parent|unknown bird|" +
			"unbekannt|unbek|unb|nicht bekannt|keine angabe|keine angaben|k.a.|unbekannter vater|unbekannte mutter|vater unbekannt|mutter unbekannt|" +
			"inconnu|inconnue|inconnus|inc|inconn|non connu|non connue|pas connu|père inconnu|mère inconnue|non renseigné|nr|" +
			"desconocido|desconocida|desconocidos|desc|no conocido|no conocida|sin datos|sin dato|s/d|padre desconocido|madre desconocida|no consta|" +
			"desconhecido|desconhecida|desconhecidos|não conhecido|sem dados|pai desconhecido|mãe desconhecida|" +
			"sconosciuto|sconosciuta|sconosciuti|ignoto|ignota|non noto|non nota|padre sconosciuto|madre sconosciuta|padre ignoto|madre ignota|" +
			"onbekend|onbek|onb|niet bekend|geen gegevens|vader onbekend|moeder onbekend",
		wildParent: "wild|wild caught|wildcaught|wild-caught|wild born|wildborn|wild hatched|wild bird|wild birds|wild parent|wild parents|wild sire|wild dam|wild male|wild female|wild stock|wild origin|from the wild|from wild|in the wild|hatched in the wild|born in the wild|free-living|free living|free-ranging|caught in the wild|wc|w.c.|" +
			"wildfang|wildvogel|wildvögel|wild gefangen|wildherkunft|aus der wildnis|naturentnahme|in freier wildbahn|freilebend|freilandvogel|aus der natur|wildschlupf|wf|" +
			"sauvage|sauvages|né sauvage|née sauvage|né en milieu naturel|né dans la nature|née dans la nature|dans la nature|en liberté|oiseau sauvage|capturé dans la nature|prélevé dans la nature|milieu naturel|origine sauvage|" +
			"silvestre|silvestres|salvaje|salvajes|origen silvestre|capturado en libertad|nacido en libertad|en libertad|nacido en la naturaleza|medio silvestre|medio natural|de la naturaleza|" +
			"selvagem|selvagens|origem selvagem|vida livre|nascido na natureza|da natureza|capturado na natureza|" +
			"selvatico|selvatica|selvatici|di cattura|origine selvatica|nato in natura|in natura|dalla natura|" +
			"wildvang|in het wild|uit het wild|wilde vogel|in de natuur|uit de natuur|wild gevangen|wilde herkomst",
		severalParents: "several|multiple|mult|mixed|mix|group|grp|flock|various|many|different|colony|mehrere|verschiedene|gemischt|gruppe|schwarm|diverse|div|" +
			"plusieurs|multiples|mélange|mixte|groupe|divers|volée|varios|varias|múltiple|múltiples|mixto|mixta|grupo|bandada|diversos|diversas|" +
			"vários|várias|múltiplo|múltiplos|misto|mista|bando|vari|varie|diversi|multipli|multiplo|gruppo|stormo|meerdere|verschillende|gemengd|gemengde|groep|zwerm",
	}, []nobody{unknownParent, wildParent, severalParents})
})

// fillers may stand beside a word for nobody without changing it.
var fillers = sync.OnceValue(func() map[string]bool {
	m := make(map[string]bool)
	for w := range strings.SplitSeq("cock|cocks|hen|hens|hahn|henne|male|males|female|females|sire|sires|dam|dams|bird|birds|parent|parents|possible|potential|candidates|of|in|the|breeding|flock|group|or|and|no|nr|"+
		"männchen|weibchen|hähne|hennen|vögel|väter|mütter|eltern|mögliche|tiere|mâles|femelles|oiseaux|pères|mères|possibles|de|machos|hembras|aves|padres|madres|posibles|"+
		"fêmeas|pais|mães|possíveis|maschi|femmine|uccelli|possibili|mannen|poppen|vogels|mogelijke", "|") {
		m[key(w)] = true
	}
	return m
})

// nobodyIn returns what a parent's cell says that names no bird: a word of the
// languages, with a number or a filler or without.
func nobodyIn(s string) (nobody, bool) {
	const most = 200 // bytes; what is longer is no word, and its phrases are too many to look through
	if len(s) > most {
		return 0, false
	}
	l := nobodyWords()
	if n, ok := l.whole(s); ok {
		return n, true
	}
	if _, outer, ok := inBrackets(s); ok {
		if n, ok := l.whole(outer); ok {
			return n, true // "wild (Peru)"
		}
	}
	run := tokens(s)
	var found nobody
	for n := len(run); n > 1; n-- { // a phrase, as "wild caught" before a year
		if means, ok := l.meaning[strings.Join(run[:n], "")]; ok {
			found, run = means, append([]string{""}, run[n:]...)
			break
		}
	}
	for i, w := range run {
		letters := strings.TrimRight(w, "0123456789")
		n, ok := l.meaning[letters]
		switch {
		case letters == "" && (i > 0 || found != 0) || ok && found != 0:
		case ok && letters != "" && (len(letters) > 3 || n == severalParents):
			found = n
		case fillers()[w] && (i > 0 || found == 0):
		default:
			return 0, false
		}
	}
	return found, found != 0
}

// fate is what became of a bird.
type fate byte

const (
	noFate fate = iota
	alive
	died
	moved
	left
	departed // gone, and nothing says how
)

var fateNames = map[fate]string{alive: "alive", died: "died", moved: "moved", left: "left"}

// fateNamed returns the fate that a mapping names.
func fateNamed(name string) fate {
	for f, n := range fateNames {
		if n == name {
			return f
		}
	}
	return noFate
}

var fateWords = sync.OnceValue(func() *lexicon[fate] {
	return newLexicon(map[fate]string{
		alive: "alive|living|live|im bestand|dans l'élevage|en el plantel|no plantel|in allevamento|lives|reared|still alive|still living|present|current|active|here|extant|in collection|home|at home|still with us|with us|zuhause|zu hause|chez nous|en casa|em casa|a casa|in casa|thuis|lebt|lebt noch|lebend|lebendig|am leben|vorhanden|" +
			"vivant|vivante|en vie|vit|présent|présente|vivo|viva|vive|vivos|con vida|presente|em vida|com vida|vivente|in vita|levend|leeft|leeft nog|in leven|aanwezig",
		died: "necropsy|for necropsy|to necropsy|sent for necropsy|sent to necropsy|autopsy|sent for autopsy|post mortem|post-mortem|sent for post mortem|sektion|zur sektion|seziert|obduktion|zur obduktion|nécropsie|autopsie|necropsia|autopsia|necrópsia|autópsia|necroscopia|sectie|voor sectie|naar sectie|obductie|predator|prédateur|depredador|predador|predatore|roofdier|prädator|raubtier|died|dead|deceased|death|found dead|put to sleep|pts|p.t.s.|put down|euthanised|euthanized|euthanasia|culled|killed|predated|predation|taken by predator|taken by fox|drowned|stillborn|dead in shell|did not survive|dod|†|✝|" +
			"tot|tod|gest|verend|eingeg|eingegangen|tot aufgefunden|tot gefunden|gestorben|verstorben|verendet|eingeschläfert|euthanasiert|eingegangen|getötet|gerissen|totgebissen|" +
			"mort|morte|mort(e)|décès|décédé|décédée|trouvé mort|trouvée morte|retrouvé mort|euthanasié|euthanasiée|euthanasie|tué|tuée|prédation|" +
			"muerto|muerta|murió|muerte|fallecido|fallecida|falleció|fallecimiento|encontrado muerto|hallado muerto|eutanasia|eutanasiado|sacrificado|depredado|defunción|" +
			"morto|morta|morreu|óbito|falecido|falecida|faleceu|encontrado morto|eutanásia|abatido|predado|" +
			"deceduto|deceduta|decesso|trovato morto|trovata morta|soppresso|soppressa|ucciso|predato|" +
			"dood|doodgegaan|dood gegaan|overleden|gestorven|dood gevonden|dood aangetroffen|doodgebeten|geëuthanaseerd|ingeslapen|laten inslapen|gedood|gepakt door",
		moved: "moved|moved to|moved out|transfer|transferred|transfered|transferred to|transfer to|transfer out|sent|sent to|relocated|loan|loaned|on loan|loan to|loaned to|on loan to|lent|lent to|breeding loan|exchange|exchanged|swapped|returned to|to|" +
			"verlegt|umgesetzt|umgezogen|überstellt|versetzt|transferiert|leihgabe|ausgeliehen|verliehen|eingestellt bei|tausch|getauscht|nach|" +
			"transféré|transférée|transfert|déplacé|déplacée|prêt|prêté|prêtée|en prêt|envoyé|envoyée|échange|échangé|mis en pension|" +
			"traslado|trasladado|trasladada|transferido|transferida|transferencia|préstamo|prestado|prestada|en préstamo|enviado|enviada|intercambio|movido|movida|" +
			"transferência|emprestado|emprestada|empréstimo|mudado|mudada|troca|trocado|" +
			"trasferito|trasferita|trasferimento|spostato|spostata|prestito|in prestito|prestato|prestata|inviato|inviata|scambio|scambiato|" +
			"overgeplaatst|verplaatst|verhuisd|overplaatsing|bruikleen|in bruikleen|uitgeleend|geruild|ruil|verhuizing|transfer naar|naar",
		left: "sold|sale|sold to|given away|gave away|given to|gift|donated|escaped|escape|flew away|flown away|released|release|lost|missing|stolen|theft|disappeared|rehomed|emigrated|dispersed|translocated|left the programme|left programme|left the program|left|exported|private sale|private|to private|to private keeper|to private owner|to a private keeper|to a private owner|lost to follow up|to a dealer|" +
			"verkauft|verkauf|verk|abgeg|abgegeben|abgegeben an|abgabe|verschenkt|weggegeben|entflogen|entwichen|ausgebrochen|freigelassen|ausgewildert|verloren|vermisst|verschwunden|gestohlen|privat|an privat|an privathalter|an private|an händler|" +
			"vendu|vendue|vente|donné|donnée|don|cédé|cédée|cession|offert|échappé|échappée|évadé|évadée|envolé|relâché|relâchée|lâcher|perdu|perdue|disparu|disparue|volé|volée|vol|particulier|à un particulier|chez un particulier|" +
			"vendido|vendida|venta|regalado|regalada|donado|donada|cedido|cedida|cesión|escapado|escapada|escapó|fuga|fugado|liberado|liberada|suelta|perdido|perdida|desaparecido|desaparecida|robado|robada|a particular|a un particular|" +
			"venda|doado|doada|oferecido|oferecida|fugiu|escapou|libertado|libertada|solto|solta|roubado|roubada|para particular|" +
			"venduto|venduta|vendita|regalato|regalata|donato|donata|ceduto|ceduta|cessione|fuggito|fuggita|scappato|scappata|evaso|rilasciato|rilasciata|liberato|liberata|perso|persa|smarrito|smarrita|scomparso|scomparsa|rubato|rubata|privato|a privato|a un privato|" +
			"verkocht|verkoop|weggegeven|weggedaan|geschonken|ontsnapt|weggevlogen|vrijgelaten|uitgezet|verloren|vermist|verdwenen|gestolen|naar particulier|aan particulier|naar derden",
		departed: "departed|removed|out|gone away|not present|absent|no longer present|abgang|abgegangen|ausgeschieden|nicht mehr vorhanden|sorti|sortie|parti|partie|absent|absente|baja|dado de baja|dada de baja|ausente|saiu|saída|baixa|uscito|uscita|assente|partito|partita|vertrokken|afgevoerd|weg|afwezig",
	}, []fate{alive, died, left, moved, departed})
})

// yes and no of the languages, as they stand in columns such as "dead" or
// "alive".
var yesNo = sync.OnceValue(func() *lexicon[bool] {
	return newLexicon(map[bool]string{
		true:  "yes|y|true|x|1|✓|✔|ja|j|wahr|oui|o|vrai|sí|si|s|verdadero|sim|verdadeiro|vero|waar",
		false: "no|n|false|0|nein|falsch|non|faux|falso|não|nao|nee|onwaar|-|–|—|--|n/a|none",
	}, []bool{true, false})
})

// fateSheets are words in the name of a sheet that say what became of its
// birds.
var fateSheets = sync.OnceValue(func() map[string]fate {
	m := make(map[string]fate)
	for f, list := range map[fate]string{
		died: "dead|died|deceased|former|deaths|death|deads|mortality|mortalities|tot|tote|toten|verstorben|verstorbene|gestorben|gestorbene|verendet|verendete|ehemalige|ehemals|todesfälle|" +
			"mort|morts|morte|mortes|mortalité|décédé|décédés|décès|décédées|défunts|anciens|muerto|muertos|muertas|fallecidos|fallecidas|fallecido|difuntos|antiguos|muertes|defunciones|mortalidad|" +
			"morto|mortos|mortas|falecidos|falecidas|óbitos|antigos|mortalidade|morti|deceduti|decedute|decessi|defunti|mortalità|dood|dode|doden|overleden|overledenen|gestorven|gewezen|sterfte",
		left: "sold|escaped|rehomed|donated|verkauft|verkaufte|verkäufe|abgegeben|abgegebene|entflogen|entflogene|vendu|vendus|vendues|ventes|cédés|cédées|échappés|" +
			"vendido|vendidos|vendidas|ventas|cedidos|cedidas|escapados|vendas|doados|venduto|venduti|vendute|vendite|ceduti|cedute|fuggiti|verkocht|verkochte|verkopen|ontsnapt|ontsnapte",
		departed: "departed|departures|removed|removals|exits|disposals|abgang|abgänge|abgegangene|départs|sorties|partis|bajas|salidas|saídas|baixas|uscite|usciti|vertrokken|vertrek|afvoer|afgevoerd",
	} {
		for w := range strings.SplitSeq(list, "|") {
			m[key(w)] = f
		}
	}
	return m
})

// totals are words that begin a row of sums.
var totals = sync.OnceValue(func() map[string]bool {
	m := make(map[string]bool)
	for w := range strings.SplitSeq("total|totals|grand total|sum|count|subtotal|sub total|summe|gesamt|gesamtzahl|insgesamt|anzahl|bestand|total general|totaux|somme|nombre total|effectif|"+
		"totales|suma|soma|totais|totale|totali|somma|totaal|som|aantal", "|") {
		m[key(w)] = true
	}
	return m
})

// herds are words for birds that stand behind their number in a row of sums.
var herds = wordSet("bird|birds|animals|animal|head|individuals|specimens|alive|living|males|females|cocks|hens|vogel|vögel|tier|tiere|stück|exemplare|individuen|lebend|lebende|hähne|hennen|männchen|weibchen|" +
	"oiseau|oiseaux|individus|animaux|têtes|vivants|mâles|femelles|ave|aves|pájaros|individuos|ejemplares|animales|vivos|vivas|machos|hembras|animais|indivíduos|exemplares|fêmeas|uccello|uccelli|individui|animali|capi|esemplari|vivi|maschi|femmine|" +
	"vogels|dieren|exemplaren|stuks|levend|mannen|poppen")

var originWords = sync.OnceValue(func() *lexicon[studbook.Origin] {
	return newLexicon(map[studbook.Origin]string{
		studbook.OriginWild: "wild|w|wild caught|wild-caught|wildcaught|wild born|wild hatched|wild hatch|wc|wildfang|wf|naturentnahme|sauvage|né sauvage|capturé|capture|silvestre|salvaje|capturado|selvagem|selvatico|selvatica|cattura|di cattura|wildvang|in het wild|from the wild|natura|wild bird|wildvogel",
		studbook.OriginCaptive: "captive|c|captive bred|captive-bred|captive born|captive hatched|captive hatch|captivity|bred|cb|nachzucht|nz|gezüchtet|eigene nachzucht|eigenzucht|in gefangenschaft|zucht|captif|captive|né en captivité|élevage|élevé|issu d'élevage|captivité|" +
			"cautividad|cautivo|cautiva|criado en cautividad|nacido en cautividad|cría|cativeiro|cativo|criado em cativeiro|nascido em cativeiro|cattività|nato in cattività|allevamento|allevato|gevangenschap|kweek|eigen kweek|in gevangenschap|gekweekt|nakweek",
		studbook.OriginUnstated: "unknown|unk|?|u|-|unbekannt|inconnu|inconnue|desconocido|desconocida|desconhecido|desconhecida|sconosciuto|sconosciuta|onbekend|undetermined",
	}, []studbook.Origin{studbook.OriginWild, studbook.OriginCaptive, studbook.OriginUnstated})
})

// sexWords are the words whose meaning no other language changes.
var sexWords = sync.OnceValue(func() *lexicon[studbook.Sex] {
	return newLexicon(map[studbook.Sex]string{
		studbook.Male:   "male|males|cock|cocks|cockbird|cock bird|drake|boy|he|man|mannen|männlich|maennlich|männchen|maennchen|hahn|hähne|mâle|mâles|macho|machos|maschio|maschi|maschile|masculin|masculino|mannetje|mannelijk|doffer|♂|1.0|1,0|1.0.0|1,0,0|1/0|1-0|masc|masch",
		studbook.Female: "female|females|hen|hens|hen bird|henbird|girl|she|fem|weiblich|weibchen|henne|hennen|femelle|femelles|hembra|hembras|fêmea|fêmeas|femmina|femmine|femminile|féminin|femenino|feminino|vrouw|vrouwen|vrouwtje|vrouwelijk|pop|poppen|popje|♀|0.1|0,1|0.1.0|0,1,0|0/1|0-1|femm",
		studbook.Unsexed: "unknown|unk|u|unsexed|unsex|not sexed|undetermined|undet|indet|ind|not known|nk|n/k|na|n/a|nd|n.d.|?|??|-|–|—|0.0.1|0,0,1|0/0/1|tbd|pending|juvenile|juv|chick|unbekannt|unb|unbek|unbestimmt|nicht bestimmt|nb|n.b.|offen|" +
			"inconnu|inconnue|indéterminé|indeterminé|indéterminée|non déterminé|non sexé|desconocido|desconocida|indeterminado|indeterminada|sin sexar|no sexado|desconhecido|desconhecida|não sexado|sem sexagem|" +
			"sconosciuto|sconosciuta|indeterminato|non sessato|onbekend|onb|ongesekst|niet bepaald|onbepaald",
	}, []studbook.Sex{studbook.Male, studbook.Female, studbook.Unsexed})
})

// months are the names of months, and their abbreviations as they stand.
var months = sync.OnceValue(func() map[string]int {
	m := make(map[string]int)
	for i, list := range []string{
		"january jan januar jänner janvier janv enero ene janeiro gennaio genn gen januari",
		"february feb febr februar februari février fevr fev febrero fevereiro febbraio febb feber",
		"march mar märz mrz maerz mars marzo março marco maart mrt",
		"april apr avril avr abril abr aprile",
		"may mai mayo maio maggio mag magg mei",
		"june jun juni juin junio junho giugno giu",
		"july jul juli juillet juil julio julho luglio lug lugl",
		"august aug août aou aout agosto ago augustus",
		"september sep sept septembre septiembre setiembre setembro settembre set sett",
		"october oct oktober okt octobre octubre outubro out ottobre ott",
		"november nov novembre noviembre novembro",
		"december dec dezember dez décembre diciembre dic dezembro dicembre",
	} {
		for w := range strings.FieldsSeq(list) {
			m[key(w)] = i + 1
		}
	}
	return m
})

// eventKind is what a row of an event log says happened.
type eventKind byte

const (
	eventHatched eventKind = iota + 1
	eventArrived
	eventSexed
	eventRinged
	eventPaired
	eventParted
	eventLaid
	eventMoved
	eventDied
	eventLeft
	eventNothing // known, and of no consequence for a studbook
)

var eventKindNames = map[string]eventKind{
	"hatched": eventHatched, "arrived": eventArrived, "sexed": eventSexed, "ringed": eventRinged, "paired": eventPaired, "parted": eventParted,
	"laid": eventLaid, "moved": eventMoved, "died": eventDied, "left": eventLeft, "nothing": eventNothing,
}

var eventWords = sync.OnceValue(func() *lexicon[eventKind] {
	return newLexicon(map[eventKind]string{
		eventHatched: "hatched|hatch|hatching|born|birth|schlupf|geschlüpft|geschluepft|geboren|geburt|éclosion|éclos|né|née|naissance|eclosión|eclosionado|eclosiona|nacido|nacida|nacimiento|nace|nació|eclosão|eclodiu|nascido|nascida|nascimento|nasceu|schiusa|schiuso|nato|nata|nascita|uitgekomen|uitkomst|geboorte",
		eventArrived: "arrived|arrival|acquired|received|bought|purchased|came|came in|acquisition|zugang|angekommen|ankunft|erworben|gekauft|erhalten|arrivé|arrivée|acquis|acquise|reçu|reçue|acheté|achetée|entrée|llegada|llegó|llega|adquirido|adquirida|comprado|comprada|recibido|recibida|alta|chegada|chegou|recebido|recebida|arrivo|arrivato|arrivata|acquistato|acquistata|ricevuto|ricevuta|comprato|aankomst|aangekomen|gekocht|ontvangen|aangekocht|aanschaf",
		eventSexed:   "sexed|sexing|dna sexed|dna sexing|sex determined|gesext|geschlechtsbestimmung|geschlecht bestimmt|sexé|sexée|sexage|sexado|sexada|sexagem|sessato|sessata|sessaggio|gesekst|geslachtsbepaling|geslacht bepaald",
		eventRinged:  "ringed|banded|banding|ringing|re-ringed|beringt|beringung|bagué|baguée|baguage|anillado|anillada|anillamiento|anillaje|anilhado|anilhada|anilhagem|inanellato|inanellata|inanellamento|geringd|ringen",
		eventPaired:  "paired|pair|pairing|paired with|bonded|pair formed|verpaart|verpaarung|angepaart|apparié|appariée|appariement|mis en couple|couplé|emparejado|emparejada|emparejamiento|acasalado|acasalada|acasalamento|emparelhado|accoppiato|accoppiata|accoppiamento|coppia formata|gekoppeld|koppeling|gepaard",
		eventParted:  "parted|separated|separation|split|unpaired|divorced|pair split|getrennt|trennung|séparé|séparée|séparation|separado|separada|separación|separação|separato|separata|separazione|gescheiden|scheiding|uit elkaar",
		eventLaid:    "laid|egg laid|eggs laid|laying|clutch|clutch laid|egg|eggs|first egg|gelegt|eiablage|gelege|erstes ei|ponte|pondu|oeuf pondu|œuf pondu|puesta|puso|puesta de huevos|postura|pôs|deposizione|deposto|deposte|uovo deposto|covata|gelegd|eileg|legsel|eieren gelegd",
		eventMoved:   "moved|moved to|transfer|transferred|transferred to|relocated|sent to|loan|loaned|verlegt|umgesetzt|umgezogen|überstellt|transféré|transférée|transfert|déplacé|trasladado|trasladada|traslado|transferido|transferida|transferência|mudado|trasferito|trasferita|trasferimento|spostato|verplaatst|overgeplaatst|verhuisd|overplaatsing",
		eventDied:    "died|dead|death|deceased|found dead|put to sleep|euthanised|euthanized|killed|gestorben|tot|tot aufgefunden|tot gefunden|verendet|verstorben|eingeschläfert|eingegangen|mort|morte|décédé|décédée|trouvé mort|trouvée morte|décès|euthanasié|muerto|muerta|murió|muere|muerte|fallecido|fallecida|falleció|encontrado muerto|morreu|morto|morta|óbito|faleceu|encontrado morto|deceduto|deceduta|trovato morto|trovata morta|decesso|dood|overleden|gestorven|dood gevonden|ingeslapen",
		eventLeft:    "sold|sold to|given away|escaped|released|lost|stolen|missing|disappeared|donated|verkauft|abgegeben|verschenkt|entflogen|entwichen|freigelassen|ausgewildert|vermisst|vendu|vendue|donné|donnée|cédé|échappé|échappée|relâché|perdu|disparu|vendido|vendida|regalado|cedido|escapado|escapada|escapó|liberado|liberada|perdido|desaparecido|doado|doada|fugiu|escapou|libertado|venduto|venduta|regalato|ceduto|fuggito|fuggita|scappato|liberato|rilasciato|perso|scomparso|verkocht|weggegeven|ontsnapt|vrijgelaten|vermist|weggevlogen",
		eventNothing: "weighed|weight|weighing|checked|health check|vet check|vet|treated|treatment|medicated|wormed|vaccinated|moult|moulted|moulting|photo|photographed|gewogen|gewicht|kontrolle|behandelt|tierarzt|mauser|pesé|pesée|poids|contrôle|traité|vétérinaire|mue|pesado|pesada|peso|control|tratado|veterinario|muda|pesagem|controlo|controle|tratamento|veterinário|pesato|pesata|pesatura|controllo|trattato|veterinario|muta|gewogen|controle|behandeld|dierenarts|rui|fledged|flügge|envol|volantón",
	}, []eventKind{eventHatched, eventArrived, eventSexed, eventRinged, eventPaired, eventParted, eventLaid, eventMoved, eventDied, eventLeft, eventNothing})
})
