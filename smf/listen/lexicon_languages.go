package listen

import "loopdraft/smf/song"

// Words are spelled as plainWord has them: lower case, without accents, "ä" as "ae". A word stands in
// the line of the first language that has it. All are common practice, no source.

// foreignWord returns the role that a word, or several joined by hyphens, names in a language other
// than English.
func foreignWord(word string) (song.Role, bool) {
	switch word {
	case "grosse-trommel", // German
		"grosse-caisse",      // French
		"bombo",              // Spanish
		"cassa", "grancassa", // Italian
		"bumbo",                   // Portuguese
		"grote-trom",              // Dutch
		"bastrumma", "stortromme", // Swedish; Danish, Norwegian
		"stopa",                 // Polish
		"bassorumpu",            // Finnish
		"бочка", "キック", "バスドラム": // Russian, Japanese
		return song.RoleKick, true
	case "kleine-trommel",
		"caisse-claire",
		"caja", "redoblante", "tarola",
		"rullante",
		"caixa",
		"kleine-trom",
		"virvel", "virveltrumma", "lilletromme", "skarptromme",
		"werbel",
		"virveli",
		"スネア", "スネアドラム":
		return song.RoleSnare, true
	case "haendeklatschen",
		"palmas", // Spanish, Portuguese
		"handklapp",
		"クラップ":
		return song.RoleClap, true
	case "charley", "charleston", // French, Italian
		"chimbal",
		"ハイハット":
		return song.RoleHat, true
	case "becken",
		"cymbale", "cymbales",
		"platillo", "platillos",
		"piatto", "piatti",
		"prato", "pratos",
		"bekken", "bekkens",
		"talerz", "talerze",
		"シンバル":
		return song.RoleCrash, true
	case "rassel":
		return song.RoleShaker, true
	case "pauke", "pauken",
		"タム":
		return song.RoleTom, true
	case "perkussion", "tamburin",
		"percussions",
		"percusion",
		"percussioni",
		"percussao", "pandeiro",
		"percussie",
		"パーカッション":
		return song.RolePerc, true
	case "kontrabass",
		"basse", "contrebasse",
		"bajo", "contrabajo",
		"basso", "contrabbasso", // Italian; Finnish
		"baixo", "contrabaixo",
		"bas", // Dutch, Swedish, Danish, Polish
		"basa",
		"бас", "ベース":
		return song.RoleBass, true
	case "melodie", "floete", "trompete", "glocke", "glocken",
		"trompette", "cloche", "cloches",
		"melodia", "flauta", "trompeta", "campana", "campanas", // Spanish, Italian, Polish
		"flauto", "tromba",
		"melodi",
		"リード", "メロディ":
		return song.RoleLead, true
	case "blaeser",
		"cuivres",
		"metales",
		"ottoni",
		"metais",
		"ブラス":
		return song.RoleStab, true
	case "akkord", "akkorde", "klavier", "orgel", "gitarre",
		"accord", "accords", "guitare", "orgue",
		"acorde", "acordes", "guitarra", "organo", "teclado", "teclados",
		"accordi", "chitarra", "pianoforte",
		"violao",
		"akkoorden", "gitaar",
		"ackord", "gitarr", "akkorder",
		"akordy", "gitara", "organy",
		"kitara", "kytara",
		"гитара", "пианино", "орган", "コード", "ピアノ", "ギター", "オルガン":
		return song.RoleChords, true
	case "flaeche", "flaechen", "chor",
		"nappe", "nappes", "choeur", "choeurs",
		"coro", "coros",
		"tappeto",
		"koor",
		"パッド":
		return song.RolePad, true
	case "streicher", "geige", "geigen",
		"cordes", "violon", "violons",
		"cuerdas",
		"archi", "violini",
		"cordas",
		"strijkers",
		"strakar", "strygere", "strykere",
		"smyczki",
		"jouset",
		"струнные", "ストリングス":
		return song.RoleStrings, true
	case "gesang", "stimme",
		"voix",
		"voz", "voces",
		"voce", "voci",
		"vozes",
		"zang",
		"wokal",
		"laulu",
		"вокал", "ボーカル":
		return song.RoleVocal, true
	}
	return song.RoleUnknown, false
}

// foreignKit tells whether the word means a kit in a language other than English.
func foreignKit(w string) bool {
	switch w {
	case "schlagzeug", "batterie", "bateria", "batteria", "drumstel", "slagwerk", "slagverk", "trummor", "trommer",
		"perkusja", "bici", "rummut", "барабаны", "ударные", "ドラム", "ドラムス":
		return true
	}
	return false
}

// foreignOpen tells whether the word means open, of a hat.
func foreignOpen(w string) bool {
	switch w {
	case "offen", "offene", "ouvert", "ouverte", "abierto", "aperto", "aberto":
		return true
	}
	return false
}

// foreignGeneric tells whether exporters write the word in a language other than English where nobody
// gave a name.
func foreignGeneric(w string) bool {
	switch w {
	case "spur", "kanal", "piste", "canal", "pista", "instrumento", "traccia", "canale", "strumento", "spoor", "kanaal",
		"spar", "spor", "sciezka", "дорожка", "トラック":
		return true
	}
	return false
}
