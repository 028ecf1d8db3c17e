package exchange

import (
	"maps"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// column is a column of ours: of the colony folder, or one that only import
// knows.
type column byte

// The columns of import. Those up to colNotes are of studbook.csv.
const (
	unclaimed column = iota
	colID
	colName
	colBand
	colSex
	colSire
	colDam
	colHatch
	colDeath
	colLocation
	colOrigin
	colNotes

	colOtherIDs
	colParents
	colStatus
	colStatusDate // since when the status holds
	colDepartureDate
	colDepartureReason
	colDepartureTo
	colArrivalDate
	colArrivalFrom
	colHatchPrecision
	colNest
	colGroup
	colMate
	colFosterSire
	colFosterDam
	colDeathCause

	colEventDate
	colEvent
	colEventWith
	colEventPlace

	colFemale // of nests
	colMale
	colPair // both of them in one cell
	colSince
	colUntil

	colLaid // of clutches, in sheets of nests
	colEggs
	colFertile
	colInfertile
	colHatched
	colFledged

	colSeason // of groups
	colMales
	colFemales

	columnCount
)

// columnNames are our names of the columns, as flags and mappings write them.
var columnNames = [columnCount]string{
	colID: "id", colName: "name", colBand: "band", colSex: "sex", colSire: "sire", colDam: "dam", colHatch: "hatch_date", colDeath: "death_date",
	colLocation: "location", colOrigin: "origin", colNotes: "notes",
	colOtherIDs: "other_ids", colParents: "parents", colStatus: "status", colStatusDate: "status_date", colDepartureDate: "departure_date", colDepartureReason: "departure_reason", colDepartureTo: "departure_to",
	colArrivalDate: "arrival_date", colArrivalFrom: "arrival_from", colHatchPrecision: "hatch_precision", colNest: "nest", colGroup: "group", colMate: "mate",
	colFosterSire: "foster_sire", colFosterDam: "foster_dam", colDeathCause: "death_cause",
	colEventDate: "event_date", colEvent: "event", colEventWith: "event_with", colEventPlace: "event_place",
	colFemale: "female", colMale: "male", colPair: "pair", colSince: "since", colUntil: "until",
	colLaid: "laid", colEggs: "eggs", colFertile: "fertile", colInfertile: "infertile", colHatched: "hatched", colFledged: "fledged",
	colSeason: "season", colMales: "males", colFemales: "females",
}

func (c column) String() string { return columnNames[c] }

// columnNamed returns the column of ours with a name.
func columnNamed(name string) (column, bool) {
	i := slices.Index(columnNames[:], strings.ToLower(strings.TrimSpace(name)))
	return column(max(i, 0)), i > 0
}

// key is a word or heading without case, accents, spaces and punctuation.
func key(s string) string {
	plain, ascii := true, true
	for i := range len(s) {
		c := s[i]
		plain = plain && (c >= 'a' && c <= 'z' || c >= '0' && c <= '9')
		ascii = ascii && c < utf8.RuneSelf
	}
	switch {
	case plain:
		return s
	case ascii: // most cells, without the tables of Unicode
		out := make([]byte, 0, len(s))
		for i := range len(s) {
			switch c := s[i]; {
			case c >= 'A' && c <= 'Z':
				out = append(out, c+'a'-'A')
			case c >= 'a' && c <= 'z', c >= '0' && c <= '9':
				out = append(out, c)
			}
		}
		return string(out)
	}
	var b strings.Builder
	for _, c := range norm.NFD.String(s) {
		switch c = unicode.ToLower(c); {
		case c == 'ß':
			b.WriteString("ss")
		case c == 'ø':
			b.WriteByte('o')
		case c == 'æ':
			b.WriteString("ae")
		case c == 'œ':
			b.WriteString("oe")
		case unicode.IsLetter(c) || unicode.IsDigit(c):
			b.WriteRune(c)
		}
	}
	return b.String()
}

// hasKey reports whether the key of a text is k.
func hasKey(s, k string) bool {
	at := 0
	for i := range len(s) {
		c := s[i]
		switch {
		case c >= utf8.RuneSelf:
			return key(s) == k
		case c >= 'A' && c <= 'Z':
			c += 'a' - 'A'
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9':
		default:
			continue
		}
		if at == len(k) || k[at] != c {
			return false
		}
		at++
	}
	return at == len(k)
}

// headKey is a heading without articles and prepositions, and then as key has it; a word
// for "number" in any language, by itself or at the end of another, is one at the end.
func headKey(s string) string {
	run := tokens(s)
	kept := make([]string, 0, len(run)+1)
	numbered := false
	for _, w := range run {
		for _, n := range numberEnds {
			if stem, ok := strings.CutSuffix(w, n); ok && len(stem) > 1 && len(w) > len("nummer") {
				w, numbered = stem, true
				break
			}
		}
		switch {
		case numberWords()[w]:
			numbered = true
		case !articles()[w]:
			kept = append(kept, w)
		}
	}
	switch {
	case numbered:
		kept = append(kept, "no")
	case len(kept) == 0:
		kept = run // an article alone, as "from" of a nest
	}
	return strings.Join(kept, "")
}

// numberEnds are words for "number" with which others are compounded, as in
// "Zuchtbuchnr.".
var numberEnds = [...]string{"nummer", "number", "nr", "num"}

var (
	numberWords = wordSet("nº|n|no|nr|num|nbr|number|nummer|número|numéro|numero")
	articles    = wordSet("º|the|of|on|der|die|das|des|dem|den|von|vom|am|le|la|les|l|de|du|d|el|los|las|del|o|os|as|do|da|dos|das|em|il|lo|gli|di|della|dello|dell|van|het|op")
)

// dictionary is a list of headings for one kind of sheet.
type dictionary struct {
	columns map[string]column
	weak    map[string]column // headings that are taken only where nothing better is there
}

func newDictionary(strong, weak map[column]string) *dictionary {
	d := &dictionary{columns: make(map[string]column), weak: make(map[string]column)}
	for _, x := range []struct {
		from map[column]string
		to   map[string]column
	}{{strong, d.columns}, {weak, d.weak}} {
		for _, c := range slices.Sorted(maps.Keys(x.from)) {
			for name := range strings.SplitSeq(x.from[c], "|") {
				if k := headKey(name); k != "" && x.to[k] == unclaimed {
					x.to[k] = c
				}
			}
			x.to[headKey(c.String())] = c
		}
	}
	return d
}

// The headings of sheets of birds, by language: English, German, French,
// Spanish, Portuguese, Italian, Dutch; then Darwin Core (TDWG 2009).
var birdNames = sync.OnceValue(func() *dictionary {
	return newDictionary(map[column]string{
		colID: "id|ids|bird id|bird no|bird number|bird nr|bird code|bird ref|animal id|animal no|animal number|individual id|individual no|iid|id no|id nr|id number|unique id|" +
			"studbook|studbook id|studbook no|studbook nr|studbook num|studbook number|stud book number|stud book no|sb|sb id|sb no|sb nr|sb number|stud no|stud number|registration|registration no|registration number|reg no|accession|accession id|accession no|accession number|acc no|identification|identification number|identifier|ident|code|" +
			"zuchtbuchnummer|zuchtbuch nr|zuchtbuch|zb nr|zbnr|kennung|kennnummer|kenn nr|vogel id|vogel nr|vogelnummer|tier id|tier nr|tiernummer|id nummer|identifikation|" +
			"identifiant|matricule|numéro d'identification|n° d'identification|no identification|id oiseau|code oiseau|numéro de studbook|n° studbook|no studbook|numéro d'oiseau|n° oiseau|" +
			"identificador|identificación|número de identificación|nº de identificación|número de registro|nº registro|código|id ave|nº ave|número de ave|id animal|libro genealógico|nº studbook|" +
			"identificação|número de identificação|número de registo|nº registo|livro genealógico|código da ave|" +
			"identificativo|codice|codice identificativo|matricola|numero di matricola|numero di registro|id uccello|" +
			"stamboeknummer|stamboeknr|stamboek nr|stamboek|vogelnummer|vogelnr|diernummer|dier id|identificatienummer|identificatie|" +
			"organismID|organism id",
		colName: "name|names|house name|bird name|given name|called|known as|nickname|nick name|call name|pet name|local name|" +
			"rufname|hausname|vogelname|tiername|spitzname|nom|noms|nom usuel|nom d'usage|nom de maison|petit nom|surnom|nom de l'oiseau|" +
			"nombre|nombre propio|nombre de casa|apodo|mote|nombre del ave|nome|nome próprio|nome da ave|nome di casa|soprannome|nome proprio|naam|roepnaam|huisnaam|vogelnaam|organismName|organism name",
		colBand: "band|band id|band no|band nr|band number|bands|leg band|leg band no|ring|rings|ring id|ring no|ring nr|ring number|ring code|leg ring|closed ring|current ring|current band|" +
			"ringnummer|ring nummer|fußring|fussring|fußringnummer|kennring|aktueller ring|bague|n° bague|no bague|n° de bague|numéro de bague|no de bague|bagues|bague actuelle|" +
			"anilla|nº anilla|nº de anilla|n° anilla|número de anilla|num anilla|anillas|anillo|anilha|nº anilha|nº da anilha|n° anilha|número da anilha|número de anilha|" +
			"anello|n anello|nº anello|n° anello|numero anello|numero di anello|anellino|ringnr|pootring|pootring nr",
		colSex: "sex|sex of offspring|offspring sex|sex of chick|chick sex|gender|sex code|sex m f|sexe|sexo|sesso|geschlecht|geschl|geslacht|sexe m f|sexo m h|geschlecht m w|dna sex|m f|f m|m w|w m|m h|h m|m v|v m|cock hen|hen cock|cock or hen|hen or cock|male or female|female or male|hahn oder henne|männlich weiblich|mâle ou femelle|macho o hembra|macho ou fêmea|maschio o femmina|man of pop|male female|hahn henne|mâle femelle|macho hembra|macho fêmea|maschio femmina|man pop|man vrouw",
		colSire: "sire|sires|sire id|sire no|sire nr|sire number|sire ring|sire band|sire studbook no|sire accession no|sire acc no|father|dad|papa|father id|father no|father number|father ring|father's ring|father band|male parent|parent male|genetic sire|genetic father|biological sire|biological father|true sire|true father|real father|dna sire|dna father|leiblicher vater|biologischer vater|genetischer vater|père biologique|père génétique|padre biológico|padre genético|pai biológico|pai genético|padre biologico|padre genetico|biologische vader|genetische vader|" +
			"vater|vater id|vater nr|vaternummer|vatertier|vatervogel|ring vater|vater ring|ring des vaters|vater ringnummer|père|id père|n° père|bague père|bague du père|n° du père|parent mâle|" +
			"padre|id padre|nº padre|anilla padre|anilla del padre|progenitor|padre id|pai|id pai|nº pai|anilha pai|anilha do pai|genitor macho|" +
			"n padre|anello padre|anello del padre|vader|vader id|vadernr|vader nr|vadernummer|ring vader|vaderdier|vadervogel",
		colDam: "dam|dams|dam id|dam no|dam nr|dam number|dam ring|dam band|dam studbook no|dam accession no|dam acc no|mother|mum|mom|mama|mother id|mother no|mother number|mother ring|mother's ring|mother band|female parent|parent female|genetic dam|genetic mother|biological dam|biological mother|true dam|true mother|real mother|dna dam|dna mother|leibliche mutter|biologische mutter|genetische mutter|mère biologique|mère génétique|madre biológica|madre genética|mãe biológica|mãe genética|madre biologica|madre genetica|biologische moeder|genetische moeder|" +
			"mutter|mutter id|mutter nr|mutternummer|muttertier|muttervogel|ring mutter|mutter ring|ring der mutter|mutter ringnummer|mère|id mère|n° mère|bague mère|bague de la mère|n° de la mère|parent femelle|" +
			"madre|id madre|nº madre|anilla madre|anilla de la madre|progenitora|madre id|mãe|id mãe|nº mãe|anilha mãe|anilha da mãe|genitor fêmea|" +
			"n madre|anello madre|anello della madre|moeder|moeder id|moedernr|moeder nr|moedernummer|ring moeder|moederdier|moedervogel",
		colParents: "parents|parent pair|both parents|parentage|parent birds|sire x dam|eltern|elternpaar|elterntiere|elternvögel|" +
			"padres|progenitores|pareja progenitora|pais|genitori|coppia genitrice|ouders|ouderpaar|oudervogels|ouderdieren|couple parental|abstammung|filiation|herkunft eltern",
		colHatch: "hatch date|hatched|hatch|hatched on|date of hatch|date of hatching|date hatched|hatching date|hatching|hatch day|hatch year|year hatched|cohort|birth cohort|hatch cohort|year of hatch|dob|born|born on|birth|birth date|birthdate|birth day|birthday|date of birth|date born|birth year|year of birth|year born|" +
			"schlupf|schlupfdatum|schlupftag|schlupfjahr|schlupf am|geschlüpft|geschlüpft am|geboren|geboren am|geburtsdatum|geburtstag|geburt|geb|geb datum|geb am|geburtsjahr|jahrgang|" +
			"éclosion|date d'éclosion|date éclosion|éclos|éclos le|né|né le|née le|né(e) le|né(e)|naissance|date de naissance|date naissance|année de naissance|année d'éclosion|" +
			"eclosión|fecha de eclosión|fecha eclosión|nacimiento|fecha de nacimiento|fecha nacimiento|fecha nac|f nacimiento|f nac|fec nac|fec nacimiento|fnac|nacido|nacida|nacido el|nac|año de nacimiento|" +
			"eclosão|data de eclosão|data eclosão|nascimento|data de nascimento|data nascimento|data nasc|nascido|nascido em|nasc|ano de nascimento|" +
			"schiusa|data di schiusa|data schiusa|nascita|data di nascita|data nascita|nato|nato il|nato/a|nata il|anno di nascita|" +
			"geboortedatum|geboortejaar|geboorte|geb datum|uitgekomen|uitgekomen op|uitkomst|uitkomstdatum|datum uitkomst|datum geboorte|uitkipdatum|uit het ei",
		colDeath: "death date|death|died|died on|date of death|date died|death day|dod|deceased|deceased on|dead|date dead|date deceased|" +
			"tod|todesdatum|todestag|tod am|gestorben|gestorben am|verstorben|verstorben am|verendet|verendet am|tot|gest|gest am|exitus|" +
			"mort|mort le|morte le|mort(e) le|mort(e)|date de mort|date mort|date de la mort|décès|date de décès|date décès|date du décès|décédé|décédé le|" +
			"muerte|fecha de muerte|fecha muerte|fecha de la muerte|fallecimiento|fecha de fallecimiento|fallecido|fecha de defunción|defunción|muerto|muerto el|" +
			"morte|data de morte|data da morte|data morte|data de óbito|data do óbito|óbito|falecido|falecimento|morto|morto em|" +
			"data di morte|data della morte|decesso|data di decesso|data decesso|data del decesso|deceduto|deceduto il|morto il|" +
			"overleden|overleden op|overlijden|overlijdensdatum|datum overlijden|datum van overlijden|sterfdatum|sterfte|doodsdatum|dood|gestorven|gestorven op",
		colLocation: "location|location code|location id|site code|site id|institution code|institution id|current location|present location|institution|current institution|holding institution|collection|holder|place|site|zoo|park|whereabouts|where|where kept|kept at|lives at|now at|" +
			"wo|wo gehalten|où|dónde|onde|dove|waar|standort|aktueller standort|halter|haltung|haltungsort|ort|aufenthaltsort|aufenthalt|einrichtung|bestand|institut|lieu|lieu actuel|emplacement|localisation|établissement|détenteur|parc|" +
			"lugar|lugar actual|ubicación|ubicación actual|localización|institución|centro|parque|tenedor|local|local atual|localização|localidade|instituição|" +
			"luogo|luogo attuale|ubicazione|sede|istituzione|struttura|parco|detentore|località|locatie|huidige locatie|plaats|verblijfplaats|instelling|houder|dierentuin",
		colOrigin: "origin|birth type|birth origin|wild captive|captive wild|ursprung|origine|origen|origem|wild nachzucht|" +
			"herkunft|herkomst|provenance|source|procedencia|proveniência|proveniencia|procedência|provenienza|afkomst",
		colNotes: "notes|note|remarks|remark|comments|comment|bemerkung|bemerkungen|anmerkung|anmerkungen|notiz|notizen|kommentar|kommentare|remarque|remarques|commentaire|commentaires|observation|observations|" +
			"observaciones|observación|notas|nota|comentarios|comentario|observações|observação|obs|comentários|osservazioni|osservazione|annotazioni|commenti|commento|opmerking|opmerkingen|notities|notitie|aantekeningen",
		colOtherIDs: "other ids|other id|other numbers|other number|other bands|other band|other rings|other ring|former band|former bands|former ring|former rings|former id|former ids|earlier band|earlier bands|earlier ring|earlier rings|old band|old bands|old ring|old rings|old id|old number|old no|previous band|previous bands|previous ring|previous rings|previous id|previous ids|previous number|aka|alias|aliases|also known as|local id|house number|" +
			"andere nummern|andere ringe|andere ids|alter ring|alte ringe|alte ringnummer|alte ringnummern|alte nummer|frühere ringe|früherer ring|frühere ringnummer|frühere ringnummern|frühere nummer|ehemaliger ring|ehemalige ringe|" +
			"autres numéros|autre numéro|autres bagues|ancienne bague|anciennes bagues|ancien numéro|anciens numéros|bague précédente|bagues précédentes|autres identifiants|" +
			"anilla anterior|anillas anteriores|anilla antigua|anillas antiguas|otras anillas|otros números|número anterior|otros ids|anilha anterior|anilhas anteriores|anilha antiga|anilhas antigas|outras anilhas|outros números|número anterior|" +
			"anello precedente|anelli precedenti|vecchio anello|vecchi anelli|altri anelli|altri numeri|oude ring|oude ringen|vorige ring|vorige ringen|andere ringen|andere nummers|oud nummer|oude ringnummer|oude ringnummers|" +
			"otherCatalogNumbers|other catalog numbers",
		colStatus: "status|state|fate|present|still present|in collection|still in collection|still here|still alive|on site|anwesend|vorhanden|noch vorhanden|noch da|noch am leben|présent|présente|encore présent|presente|presentes|en colección|na coleção|in collezione|aanwezig|nog aanwezig|in collectie|disposition|current status|alive dead|alive or dead|dead or alive|living dead|lebend tot|lebt tot|vivant mort|présent mort|vivo muerto|vivo morto|levend dood|present status|alive|living|alive?|is alive|alive dead|dead alive|zustand|verbleib|lebt|lebt noch|lebend|lebendig|état|statut|situation|vivant|en vie|état actuel|devenir|sort|" +
			"estado|estado actual|situación|vivo|viva|vive|destino|estado atual|situação|stato|stato attuale|situazione|toestand|levend|leeft|huidige status|leeft nog",
		colStatusDate: "status date|date of status|date status|status changed|status changed on|status since|status as of|statusdatum|status seit|datum status|datum des status|date statut|date du statut|date de statut|fecha estado|fecha de estado|fecha del estado|data estado|data do estado|data stato|data dello stato|datum status|status sinds",
		colDepartureDate: "transfer date|date transferred|transferred on|transferred out|transfer out|deaccession date|deaccession|deaccessioned|deaccessioned on|date deaccessioned|end|end date|date end|departure date|departure|departed|departed on|date departed|date of departure|left|left on|date left|date out|removed|removed on|date removed|removal date|removal|disposal date|date of disposal|disposition date|date of disposition|disp date|exit date|exit|gone|gone on|date gone|" +
			"abgang|abgangsdatum|abgang am|datum abgang|abgegeben|abgegeben am|weg am|aus bestand|bestand verlassen|verlust|verlust am|ausgang|départ|date de départ|date départ|sortie|date de sortie|date sortie|parti le|sorti le|" +
			"salida|fecha de salida|fecha salida|baja|fecha de baja|fecha baja|saída|data de saída|data da saída|data saída|baixa|data de baixa|data da baixa|" +
			"uscita|data di uscita|data uscita|partenza|data di partenza|data partenza|vertrek|vertrekdatum|datum vertrek|datum uit|uit|uit collectie|datum uit collectie|afvoer|afvoerdatum|datum afvoer|vertrokken|vertrokken op",
		colDepartureReason: "departure reason|how it left|how gone|how it went|why it left|manner of departure|reason|why|why gone|disposition type|disp type|reason left|left reason|leaving reason|reason for leaving|reason for departure|reason of departure|why left|how left|cause of departure|departure cause|departure type|exit reason|removal reason|reason removed|disposal|disposal reason|what happened|" +
			"abgangsgrund|grund|grund abgang|abgangsursache|abgangsart|art des abgangs|grund des abgangs|raison|raison départ|raison du départ|raison de sortie|motif|motif départ|motif du départ|motif de sortie|motif sortie|cause de sortie|cause du départ|" +
			"motivo|motivo de baja|motivo baja|motivo de salida|motivo salida|causa de baja|causa baja|causa de salida|motivo da saída|motivo de saída|motivo da baixa|motivo de baixa|causa da baixa|" +
			"motivo uscita|motivo di uscita|motivo dell'uscita|causa di uscita|motivo della partenza|motivo di partenza|reden|reden vertrek|reden van vertrek|vertrekreden|reden afvoer|afvoerreden",
		colDepartureTo: "departure to|disp to|destination|new location|new owner|new holder|new keeper|moved to|sent to|sold to|transferred to|transfer to|went to|departed to|ziel|zielort|empfänger|abgegeben an|verkauft an|verlegt nach|abgang nach|abgang an|neuer halter|" +
			"destinataire|acquéreur|cédé à|vendu à|parti à|destino|destinatario|comprador|vendido a|trasladado a|nuevo propietario|destinatário|vendido para|transferido para|novo dono|destinazione|acquirente|venduto a|trasferito a|ceduto a|nuovo proprietario|bestemming|ontvanger|verkocht aan|verplaatst naar|nieuwe eigenaar|nieuwe houder",
		colArrivalDate: "arrival date|arrival|arrived|transferred in|date transferred in|transfer in|transfer in date|moved in|date moved in|came in|date came in|arrived on|date arrived|date of arrival|acquired|acquired on|date acquired|acquisition|acquisition date|acq date|date in|received|received on|date received|entry date|" +
			"zugang|zugangsdatum|zugang am|datum zugang|angekommen|angekommen am|ankunft|erworben|erworben am|eingang|arrivée|date d'arrivée|date arrivée|arrivé le|entrée|date d'entrée|date entrée|entré le|acquis le|" +
			"llegada|fecha de llegada|fecha llegada|alta|fecha de alta|fecha alta|entrada|fecha de entrada|fecha entrada|chegada|data de chegada|data da chegada|data chegada|data de entrada|data da entrada|data entrada|" +
			"arrivo|data di arrivo|data arrivo|entrata|data di entrata|ingresso|data di ingresso|data ingresso|aankomst|aankomstdatum|datum aankomst|binnenkomst|datum in|aanvoer|aanvoerdatum",
		colArrivalFrom: "arrival from|arrived from|came from|transferred from|transfer from|moved from|acquired from|received from|from|bought from|vendor|zugang von|erhalten von|von|bezogen von|venu de|reçu de|acquis de|de|recibido de|adquirido de|recebido de|vindo de|ricevuto da|da|proveniente da|afkomstig van|ontvangen van|van",
		colHatchPrecision: "hatch precision|hatch date precision|precision|precision of date|date precision|birth date precision|date accuracy|hatch date accuracy|accuracy|genauigkeit|datumsgenauigkeit|genauigkeit datum|genauigkeit schlupf|précision|précision date|précision de la date|" +
			"precisión|precisión fecha|precisión de la fecha|precisão|precisão da data|precisione|precisione data|precisione della data|nauwkeurigheid|nauwkeurigheid datum|datumnauwkeurigheid",
		colNest: "nest|nest no|nest nr|nest number|nest box|nestbox|nest id|natal nest|hatch nest|hatched in nest|nistkasten|nistkasten nr|nestnummer|brutkasten|bruthöhle|nid|n° nid|no nid|nichoir|n° nichoir|nido|nº nido|n nido|caja nido|" +
			"ninho|nº ninho|caixa ninho|cassetta nido|nestkast|nestkast nr|nestnr|from pair|of pair|hatched from pair|natal pair|pair of origin|parent pair no|parent pair number|aus paar|elternpaar nr|couple d'origine|pareja de origen|nº pareja progenitora|casal de origem|coppia d'origine|uit koppel",
		colGroup: "group|breeding group|natal group|flock|gruppe|zuchtgruppe|brutgruppe|schwarm|groupe|groupe reproducteur|volée|grupo|grupo reproductor|grupo de cría|bandada|bando|grupo reprodutor|gruppo|gruppo riproduttivo|stormo|groep|broedgroep|kweekgroep|zwerm",
		colMate: "mate|mate id|mate no|mate ring|mate band|mate name|current mate|current mate id|present mate|partner|partner id|partner ring|partner name|current partner|present partner|paired with|paired to|pair mate|bonded to|bonded with|bond mate|spouse|mated to|mated with|" +
			"partner nr|partner ringnummer|ring partner|ring des partners|partnervogel|partnertier|partnerin|aktueller partner|derzeitiger partner|verpaart mit|gepaart mit|zusammen mit|partenaire|partenaire actuel|bague partenaire|bague du partenaire|conjoint|conjointe|apparié avec|appariée avec|accouplé avec|en couple avec|" +
			"pareja actual|compañero|compañera|emparejado con|emparejada con|anilla pareja|anilla de la pareja|parceiro|parceira|parceiro atual|companheiro|companheira|acasalado com|acasalada com|emparelhado com|" +
			"compagno|compagna|compagno attuale|partner attuale|accoppiato con|accoppiata con|in coppia con|huidige partner|gepaard met|gekoppeld met|gekoppeld aan|partnerring",
		colFosterSire: "foster sire|foster father|foster male|adoptive father|adoptive sire|rearing sire|ziehvater|pflegevater|ammenvater|adoptivvater|père nourricier|père adoptif|père d'adoption|padre adoptivo|padre de acogida|padre nodrizo|" +
			"pai adotivo|pai de criação|padre adottivo|balio|pleegvader|adoptievader",
		colFosterDam: "foster dam|foster mother|foster female|adoptive mother|adoptive dam|rearing dam|ziehmutter|pflegemutter|amme|adoptivmutter|mère nourricière|mère adoptive|mère d'adoption|madre adoptiva|madre de acogida|madre nodriza|" +
			"mãe adotiva|mãe de criação|madre adottiva|balia|pleegmoeder|adoptiemoeder",
		colDeathCause: "death cause|cause of death|todesursache|cause de mort|cause du décès|cause de la mort|cause décès|causa de muerte|causa de la muerte|causa da morte|causa de morte|causa di morte|causa del decesso|doodsoorzaak|oorzaak overlijden",
	}, map[column]string{
		colID:              "offspring|chick|chick id|chick no|chick ring|chick band|nestling|jungvogel|küken|ring jungvogel|poussin|bague poussin|oisillon|pollo|anilla pollo|pichón|filhote|anilha filhote|pulcino|anello pulcino|jong|ring jong|kuiken|bird|birds|animal|individual|ind|no|nr|num|number|n|n°|nº|#|nummer|numéro|numero|número|vogel|tier|oiseau|ave|uccello|dier|individuum|individu|individuo|indivíduo|esemplare|ejemplar|exemplar",
		colDepartureReason: "how|how it went|wie|cómo|come|hoe",
		colDepartureDate:   "transferred|moved|transferiert|überstellt|transféré|transférée|trasladado|trasladada|transferido|transferida|trasferito|trasferita|overgeplaatst",
		colStatus:          "result|outcome|hatch result|ergebnis|schlupfergebnis|résultat|resultado|risultato|resultaat",
		colNest:            "pair|pair no|pair number|pair id|breeding pair|paar|paar nr|paarnummer|zuchtpaar|brutpaar|couple|n° couple|pareja|nº pareja|casal|nº casal|coppia|n coppia|koppel|koppel nr|koppelnummer",
		colSire:            "cock|cock id|cock ring|cock bird|male|male id|hahn|männchen|mâle|macho|maschio|doffer|sire name|name of sire|father name|name of father|father's name|name vater|name des vaters|nom père|nom du père|nombre padre|nombre del padre|nome pai|nome do pai|nome padre|nome del padre|naam vader|naam van vader",
		colDam:             "hen|hen id|hen ring|hen bird|female|female id|henne|weibchen|femelle|hembra|fêmea|femmina|pop|dam name|name of dam|mother name|name of mother|mother's name|name mutter|name der mutter|nom mère|nom de la mère|nombre madre|nombre de la madre|nome mãe|nome da mãe|nome madre|nome della madre|naam moeder|naam van moeder",
	})
})

// The headings of sheets of nests and pairs.
var nestNames = sync.OnceValue(func() *dictionary {
	return newDictionary(map[column]string{
		colNest:     "nest|nest no|nest nr|nest number|nest box|nestbox|nest id|box|pair|pair no|pair number|pair id|breeding pair|paar|paar nr|paarnummer|zuchtpaar|brutpaar|couple|n° couple|pareja|nº pareja|casal|nº casal|coppia|n coppia|koppel|koppel nr|koppelnummer|nistkasten|nistkasten nr|nestnummer|kasten|brutkasten|bruthöhle|nid|n° nid|no nid|nichoir|n° nichoir|nido|nº nido|n nido|caja nido|caja|ninho|nº ninho|caixa ninho|caixa|cassetta nido|cassetta|nestkast|nestkast nr|nestnr|kast",
		colFemale:   "female|female id|hen|hen id|she|dam|mother|weibchen|henne|weiblich|w|mutter|femelle|mère|hembra|madre|fêmea|mãe|femmina|vrouw|vrouwtje|pop|moeder|female partner|female ring|ring weibchen|bague femelle|anilla hembra|anilha fêmea|anello femmina|ring pop",
		colMale:     "male|male id|cock|cock id|he|sire|father|männchen|hahn|männlich|m|vater|mâle|père|macho|padre|pai|maschio|man|mannetje|doffer|vader|male partner|male ring|ring männchen|bague mâle|anilla macho|anilha macho|anello maschio|ring man",
		colSince:    "since|from|start|started|begin|began|begun|paired|put up|put together|set up|paired on|date paired|paired since|start date|date from|von|ab|seit|beginn|verpaart|verpaart am|verpaart seit|anfang|de|du|depuis|début|dès|date de début|formé le|desde|inicio|fecha inicio|fecha de inicio|formada|emparejados|início|data início|data de início|dal|da|inizio|data inizio|data di inizio|van|vanaf|sinds|begin|begindatum|gekoppeld",
		colUntil:    "until|to|end|ended|split|split up|separated|till|up to|end date|date to|parted|parted on|date parted|bis|ende|getrennt|getrennt am|bis zum|à|au|jusqu'à|jusqu'au|fin|date de fin|séparé le|hasta|fecha fin|fecha de fin|separados|até|fim|data fim|data de fim|al|a|fine|data fine|data di fine|fino al|tot|tot en met|t/m|einde|einddatum|gescheiden",
		colNotes:    "notes|note|remarks|comments|bemerkung|bemerkungen|remarques|observaciones|observações|osservazioni|opmerkingen",
		colLocation: "location|institution|place|standort|lieu|lugar|local|luogo|locatie",
		colLaid: "laid|egg laid|eggs laid on|first egg|1st egg|date of first egg|first egg date|laying date|date laid|lay date|clutch date|clutch started|gelegt|erstes ei|1 ei|eiablage|legebeginn|legedatum|ponte|date de ponte|date ponte|pondu|pondu le|premier œuf|1er œuf|premier oeuf|1er oeuf|" +
			"puesta|fecha de puesta|fecha puesta|primer huevo|1er huevo|postura|data de postura|data da postura|primeiro ovo|1º ovo|deposizione|data di deposizione|data deposizione|primo uovo|1º uovo|gelegd|legdatum|eerste ei|1e ei|eileg",
		colEggs: "eggs|egg|no of eggs|eggs laid|clutch size|size of clutch|eier|anzahl eier|eierzahl|eizahl|gelegegröße|gelegegrösse|œufs|oeufs|nombre d'œufs|nombre d'oeufs|nb œufs|nb oeufs|œufs pondus|oeufs pondus|" +
			"huevos|nº de huevos|nº huevos|número de huevos|huevos puestos|ovos|nº de ovos|nº ovos|número de ovos|uova|n uova|numero uova|numero di uova|eieren|aantal eieren|legselgrootte",
		colFertile: "fertile|fertile eggs|no fertile|eggs fertile|befruchtet|befruchtete|befruchtete eier|fécondés|œufs fécondés|oeufs fécondés|fertiles|fértiles|huevos fértiles|férteis|ovos férteis|fecondate|feconde|uova feconde|uova fecondate|bevrucht|bevruchte eieren",
		colInfertile: "infertile|infertile eggs|no infertile|clear|clear eggs|clears|unfertilised|unfertilized|unbefruchtet|unbefruchtete|unbefruchtete eier|klar|klare eier|clairs|œufs clairs|oeufs clairs|non fécondés|infértiles|huevos infértiles|huevos claros|inférteis|ovos inférteis|ovos claros|" +
			"infeconde|uova infeconde|uova chiare|chiare|onbevrucht|onbevruchte eieren|schier|schiere eieren",
		colHatched: "hatched|no hatched|eggs hatched|chicks hatched|hatched chicks|young hatched|geschlüpft|geschlüpfte|schlupf|geschlüpfte junge|éclos|œufs éclos|oeufs éclos|poussins éclos|eclosionados|nacidos|pollos nacidos|eclodidos|nascidos|schiuse|uova schiuse|nati|uitgekomen|uitgekomen eieren",
		colFledged: "fledged|no fledged|chicks fledged|young fledged|reared|no reared|young reared|chicks reared|weaned|flügge|ausgeflogen|aufgezogen|selbständig|envolés|élevés|sevrés|jeunes élevés|volados|criados|emancipados|independizados|voados|involati|allevati|svezzati|uitgevlogen|grootgebracht|zelfstandig",
		colSeason:  seasonNames,
	}, map[column]string{
		colEggs: "clutch|gelege", // beside eggs these number the clutches
	})
})

// seasonNames are headings of the season or year that a row holds for.
const seasonNames = "season|year|breeding season|breeding year|saison|jahr|zuchtsaison|brutsaison|zuchtjahr|année|saison de reproduction|temporada|año|época|temporada de cría|ano|estação|época de reprodução|stagione|anno|stagione riproduttiva|seizoen|jaar|broedseizoen|kweekseizoen"

// The headings of sheets of breeding groups.
var groupNames = sync.OnceValue(func() *dictionary {
	return newDictionary(map[column]string{
		colGroup:   "group|breeding group|flock|group name|aviary|enclosure|gruppe|zuchtgruppe|schwarm|voliere|anlage|groupe|groupe reproducteur|volière|volée|grupo|grupo reproductor|bandada|aviario|bando|viveiro|gruppo|stormo|voliera|groep|broedgroep|kweekgroep|zwerm|volière",
		colSeason:  seasonNames,
		colMales:   "males|cocks|male|male birds|sires|männchen|hähne|hahn|männliche|mâles|mâle|machos|macho|maschi|maschio|mannen|mannetjes|man|vaders|potential sires|possible sires",
		colFemales: "females|hens|female|female birds|dams|weibchen|hennen|henne|weibliche|femelles|femelle|hembras|hembra|fêmeas|fêmea|femmine|femmina|vrouwen|vrouwtjes|poppen|pop|moeders|potential dams|possible dams",
		colNotes:   "notes|note|remarks|comments|bemerkung|bemerkungen|remarques|observaciones|observações|osservazioni|opmerkingen",
	}, nil)
})

// The headings of sheets of events, beside those of birds.
var eventNames = sync.OnceValue(func() *dictionary {
	d := newDictionary(map[column]string{
		colEventDate:  "event date|date|date of event|day|when|datum|tag|wann|ereignisdatum|fecha|fecha del evento|data|data do evento|data evento|data dell'evento|jour|quand|cuándo|quando|giorno|dia|día|wanneer|dag|date événement|date de l'événement",
		colEvent:      "event|events|event type|what|what happened|happening|occurrence|action|activity|entry|ereignis|ereignisart|vorgang|was|was geschah|aktion|événement|évènement|type d'événement|quoi|action|evento|tipo de evento|suceso|qué|acontecimiento|acción|acontecimento|ocorrência|o que|tipo evento|cosa|azione|avvenimento|gebeurtenis|voorval|wat|actie",
		colEventWith:  "event with|with|partner|mate|detail|details|other bird|with whom|mit|mit wem|partnervogel|einzelheiten|avec|partenaire|détail|détails|con|con quien|pareja|detalle|detalles|com|com quem|parceiro|detalhe|detalhes|con chi|compagno|dettaglio|dettagli|met|met wie|partner vogel|bijzonderheden",
		colEventPlace: "event place|place|where|location|institution|to|ort|wo|wohin|standort|lieu|où|lugar|dónde|ubicación|local|onde|luogo|dove|plaats|waar|locatie",
		colID:         "id|bird|bird id|ring|band|ring no|band no|ring number|band number|studbook no|studbook number|who|animal|vogel|ringnummer|ring nr|tier|wer|zuchtbuchnummer|oiseau|bague|n° bague|qui|identifiant|ave|anilla|nº anilla|quién|anilha|nº anilha|quem|uccello|anello|chi|dier|ringnr|vogelnummer|wie|individual|animal id|stamboeknummer",
	}, nil)
	for _, c := range []column{colName, colSex, colSire, colDam, colParents, colNotes, colOrigin, colNest, colGroup, colOtherIDs} {
		for k, of := range birdNames().columns {
			if of == c && d.columns[k] == unclaimed {
				d.columns[k] = of
			}
		}
	}
	return d
})

// qualifiers are parts of a heading that say how its cells are written and
// nothing of what they mean.
var qualifiers = sync.OnceValue(func() map[string]bool {
	m := make(map[string]bool)
	for q := range strings.SplitSeq("id|ids|no|nr|number|ring|ring no|band|band no|studbook no|m/f|f/m|m/w|w/m|m/h|m/v|m/f/u|f/m/u|1.0/0.1|1,0/0,1|if known|text|year|date|day|g|gram|mm|code|name|optional|required|"+
		"macho x fêmea|macho x hembra|cock x hen|male x female|m x f|m x w|m x h|1 0 x 0 1|hahn x henne|männchen x weibchen|mâle x femelle|maschio x femmina|man x pop|man x vrouw|sire x dam|father x mother|vater x mutter|père x mère|padre x madre|pai x mãe|vader x moeder|wenn bekannt|falls bekannt|si connu|si connue|si se conoce|se conhecido|se noto|indien bekend|dd mm yyyy|mm dd yyyy|yyyy mm dd|dd mm yy|mm dd yy|d m yyyy|m d yyyy|d m y|m d y|tt mm jjjj|tt mm jj|t m jjjj|jj mm aaaa|dd mm aaaa|gg mm aaaa|dd mm jjjj|aaaa mm jj|aaaa mm dd|jjjj mm tt|"+
		"m|f|w|h|v|u|dd|mm|yyyy|yy|tt|jjjj|jj|aaaa|gg|y|d|t|j|a|♂|♀|numéro|nummer|número|numero|anilla|bague|anilha|anello", "|") {
		m[key(q)] = true
	}
	delete(m, "")
	return m
})

// patterns are the orders of dates that a heading may give.
var patterns = map[string]string{
	"ddmmyyyy": "dmy", "ddmmyy": "dmy", "dmyyyy": "dmy", "dmy": "dmy", "ttmmjjjj": "dmy", "ttmmjj": "dmy", "tmjjjj": "dmy", "jjmmaaaa": "dmy", "ddmmaaaa": "dmy", "ggmmaaaa": "dmy", "ddmmjjjj": "dmy",
	"mmddyyyy": "mdy", "mmddyy": "mdy", "mdyyyy": "mdy", "mdy": "mdy",
	"yyyymmdd": "ymd", "aaaammjj": "ymd", "aaaammdd": "ymd", "jjjjmmtt": "ymd",
}

// headingParts cuts a heading at what stands between two languages or before a
// qualifier.
func headingParts(heading string) []string {
	return strings.FieldsFunc(heading, func(c rune) bool {
		return strings.ContainsRune("/|()[]{}\n\r;,:·•–—=\\", c)
	})
}

// find returns the column that a heading names, matched whole, or by its parts
// where all of them name the same; unclaimed if none.
func (d *dictionary) find(heading string, weak bool) column {
	names := d.columns
	if weak {
		names = d.weak
	}
	switch strings.TrimSpace(heading) {
	case "†", "✝", "+":
		return d.of(colDeath, weak)
	case "*":
		return d.of(colHatch, weak)
	case "♂":
		return d.of(colMale, weak)
	case "♀":
		return d.of(colFemale, weak)
	case "#":
		return d.of(colID, !weak)
	}
	if c := names[headKey(heading)]; c != unclaimed {
		return c
	}
	for _, tail := range []string{"_at", "_dt"} { // as databases name the time of an event
		if stem, ok := strings.CutSuffix(heading, tail); ok {
			return d.find(stem, weak)
		}
	}
	if plain := signWords.Replace(heading); plain != heading && names[headKey(plain)] != unclaimed { // "♂ parent"
		return names[headKey(plain)]
	}
	found, sided := unclaimed, false
	all := headingParts(strings.ReplaceAll(heading, " - ", "/"))
	for i, p := range all {
		k := key(p)
		switch c := names[headKey(p)]; {
		case side(p) != unclaimed && (found == colParents && !sided || sided && found != colParents): // "Parents: cock", "Parents (cock / hen)"
			if sided && found != side(p) {
				found = colParents
			} else {
				found, sided = side(p), true
			}
		case c == unclaimed && (k == "" || i > 0 && qualifiers()[k]):
		case c == unclaimed:
			return unclaimed
		case found == unclaimed:
			found = c
		case i > 0 && qualifiers()[k]:
		case found == colSire && c == colDam || found == colDam && c == colSire:
			found = colParents
		case found == colParents && (c == colSire || c == colDam):
		case found == colBand && c == colID || found == colID && c == colBand:
			found = colID
		case found == colDeath && c == colDepartureDate || found == colDepartureDate && c == colDeath:
			found = colDepartureDate // which of the two, the reason says
		case c != found:
			return unclaimed
		}
	}
	return found
}

// numbered are the columns that a heading names which adds a word for "number".
var numbered = [columnCount]bool{colID: true, colBand: true, colOtherIDs: true, colSire: true, colDam: true, colMate: true, colNest: true, colGroup: true, colFosterSire: true, colFosterDam: true, colFemale: true, colMale: true}

// likely returns the column that a heading names if a word for "number" or what is in
// brackets is left aside, as of "Zuchttier Nr." and "Vater (ZB)"; unclaimed if these make it
// another one.
func (d *dictionary) likely(heading string) column {
	if stem, ok := strings.CutSuffix(headKey(heading), "no"); ok && numbered[d.columns[stem]] {
		return d.columns[stem]
	}
	inner, outer, ok := inBrackets(heading)
	if !ok {
		return unclaimed
	}
	c := d.find(outer, false)
	if c == unclaimed {
		c = d.likely(outer)
	}
	for _, both := range []string{inner + " " + outer, outer + " " + inner} {
		if other := d.columns[headKey(both)]; other != unclaimed {
			return other // "Dam (foster)", "Ring (old)"
		}
	}
	other := d.find(inner, false)
	of := other == colID || other == colBand || other == colName
	if other != unclaimed && other != c && !(of && numbered[c]) || slices.ContainsFunc(tokens(inner), func(w string) bool { return fosterWords()[w] }) {
		return unclaimed
	}
	return c
}

var signWords = strings.NewReplacer("♂", " male ", "♀", " female ")

// side returns which parent a part of a heading is of, as "cock" in "Parents: cock".
func side(part string) column {
	if len([]rune(key(part))) < 2 {
		return unclaimed // a letter that says how cells are written
	}
	switch nestNames().columns[headKey(part)] {
	case colMale:
		return colSire
	case colFemale:
		return colDam
	}
	return unclaimed
}

// of returns a column if a dictionary has it at all.
func (d *dictionary) of(c column, weak bool) column {
	if weak {
		return unclaimed
	}
	for _, of := range d.columns {
		if of == c {
			return c
		}
	}
	return unclaimed
}
