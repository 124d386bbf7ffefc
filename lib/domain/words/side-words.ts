import type { Side } from "@/lib/domain/sides";

const set = (words: string): ReadonlySet<string> => new Set(words.split(" "));

/** The words of one language that tell what a "left" or "right" is about. */
export type SideWords = {
  /** Every form that names a side, and the forms that are compared with the set-up. */
  readonly names: Readonly<Record<Side, RegExp>>;
  readonly plain: Readonly<Record<Side, RegExp>>;
  readonly arm: ReadonlySet<string>;
  readonly leg: ReadonlySet<string>;
  readonly prop: ReadonlySet<string>;
  readonly breath: ReadonlySet<string>;
  readonly lie: ReadonlySet<string>;
  /** Turning onto a side is lying on it afterwards; turning to a side may be anything. */
  readonly turn: ReadonlySet<string>;
  /** Parts a child has on both sides and that several facets speak of. */
  readonly trunk: ReadonlySet<string>;
  /** Which arm or leg: the words beside it, then what it does. */
  readonly top: string;
  readonly bottom: string;
  readonly topOf: { readonly arm: ReadonlySet<string>; readonly leg: ReadonlySet<string> };
  readonly bottomOf: { readonly arm: ReadonlySet<string>; readonly leg: ReadonlySet<string> };
  /** "Upper arm" is a part of either arm. */
  readonly partOf: ReadonlySet<string>;
  readonly blade: ReadonlySet<string>;
  readonly under: ReadonlySet<string>;
  readonly onto: ReadonlySet<string>;
  /** With a word of lying after it: tells what was seen, not what to do. */
  readonly seen: ReadonlySet<string>;
  /** May stand between a side and the word it is about. */
  readonly betweenForward: ReadonlySet<string>;
  readonly betweenBackward: ReadonlySet<string>;
  /** The sentence may say the contrary, speak of what was seen, or of the picture: nobody can tell. */
  readonly unsure: ReadonlySet<string>;
  /** Directions: the bags moved to the left may well lie on the right. */
  readonly moving: ReadonlySet<string>;
  /** "Right under the ribs", "you left the bags": as likely no side as one. */
  readonly afterDoubtful: ReadonlySet<string>;
  readonly pointing: ReadonlySet<string>;
  /** Surely no side: by the word before, and by the word after. */
  readonly noSideAfter: Readonly<Record<Side, ReadonlySet<string>>>;
  readonly noSideBefore: Readonly<Record<Side, ReadonlySet<string>>>;
  readonly endsPiece: ReadonlySet<string>;
};

export const ENDS_SENTENCE = set(". ! ? ; \n");
const NONE: ReadonlySet<string> = new Set();

const ENGLISH: SideWords = {
  names: { left: /^left(?:s|wards?|hand(?:ed)?|['’]s)?$/, right: /^right(?:s|wards?|hand(?:ed)?|['’]s)?$/ },
  plain: { left: /^left$/, right: /^right$/ },
  arm: set("arm arms hand hands elbow elbows palm palms wrist fingers armpit shoulder shoulders blade"),
  leg: set("leg legs knee knees foot feet heel toes thigh"),
  prop: set("bag bags prop towel cushion pillow sandbag sandbags"),
  breath: set("breathe breathes breathing breath breaths widen widens widening wide wider inhale air fill"),
  lie: set("lie lies lying"),
  turn: set("roll rolls rolling turn turns turning"),
  trunk: set("back hip hips waist rib ribs chest trunk body pelvis apex lung"),
  top: "top",
  bottom: "bottom",
  topOf: {
    arm: set("up high higher lift lifts lifting raise raises open forward stool press pressing"),
    leg: set("straight lift lifts lifting raise raises reach reaches reaching"),
  },
  bottomOf: { arm: set("floor mat long palm"), leg: set("bent bend bending bends") },
  partOf: set("upper lower"),
  blade: set("blade"),
  under: set("under beneath below"),
  onto: set("onto"),
  seen: set("are is you're"),
  betweenForward: set("top bottom upper lower low small side of the your her his their my - shoulder"),
  betweenBackward: set("is are be should must goes go stays stay rests on onto into under of the your her his their my side ( : , - – — ="),
  unsure: set(
    "not no never don't doesn't isn't aren't can't won't didn't shouldn't mustn't without instead rather than wrong opposite unless was were seems looks photo picture image screen camera mirror",
  ),
  moving: set("move moves shift push pull slide toward towards further nearer more turn tilt to"),
  afterDoubtful: set(
    "under below beneath above over at in into on against between behind before after up through to there here next until when where the your her his their my a it",
  ),
  pointing: set("the your her his their my its on onto into to toward towards top bottom"),
  noSideBefore: { left: NONE, right: set("all quite just exactly that's perfectly") },
  noSideAfter: { left: set("over out alone"), right: set("away now angle angles") },
  endsPiece: set(". ! ? ; \n , and but while then with so because"),
};

/**
 * In Spanish a side stands after what it is about, so nothing is looked for ahead. "Derecho" is also "straight" and
 * "upright": beside no arm, leg, lying, prop or breath it stays doubtful.
 */
const SPANISH: SideWords = {
  names: { left: /^(?:izquierd[oa]s?|izqd?[oa]?|izd[oa])$/, right: /^(?:derech[oa]s?|dch[oa]?)$/ },
  plain: { left: /^izquierd[oa]$/, right: /^derech[oa]$/ },
  arm: set("brazo brazos mano manos codo codos palma palmas muñeca dedos axila hombro hombros omóplato omoplato escápula"),
  leg: set("pierna piernas rodilla rodillas pie pies talón talon muslo"),
  prop: set("saquito saquitos saco sacos bolsa bolsas apoyo toalla cojín almohada"),
  breath: set("respire respira respirar respiración inspire inspira inspirar aire ensanche ensancha ensanchar ensanchando llene llena llenar"),
  lie: set("túmbese tumbese túmbate tumbate tumbarse tumbar tumbado tumbada acuéstese acuestese acuéstate acostarse acostado acostada échese echese échate echarse recuéstese"),
  turn: set("gire girar gírese girese gírate girarse vuélvase ruede rodar"),
  trunk: set("espalda cadera caderas cintura costilla costillas pecho tronco cuerpo pelvis pulmón"),
  top: "arriba",
  bottom: "abajo",
  topOf: {
    arm: set("alto elevado elevada levante levanta levantar suba sube subir abra abierta taburete empuje empuja"),
    leg: set("estirada recta levante levanta levantar alargue alarga alargar"),
  },
  bottomOf: { arm: set("suelo colchoneta estirado palma"), leg: set("doblada doble dobla doblar flexionada") },
  partOf: NONE,
  blade: set("omóplato omoplato escápula"),
  under: set("debajo bajo"),
  onto: set("sobre"),
  seen: set("está estás estaba estuvo queda"),
  betweenForward: NONE,
  betweenBackward: set("el la los las su sus tu tus sobre en de del al lado costado parte arriba abajo va van debajo bajo está esté están estén ( : , - – — ="),
  unsure: set(
    "no nunca ni sin salvo excepto equivocado equivocada contrario contraria opuesto opuesta vez lugar era estaba estuvo parece parecía foto fotos imagen pantalla cámara espejo",
  ),
  moving: set("mueva mueve mover desplace deslice desliza deslizar hacia más empuje"),
  afterDoubtful: NONE,
  pointing: NONE,
  noSideBefore: { left: NONE, right: NONE },
  noSideAfter: { left: NONE, right: NONE },
  endsPiece: set(". ! ? ; \n , y e pero mientras luego después entonces con así porque"),
};

export const SIDE_WORDS: readonly SideWords[] = [ENGLISH, SPANISH];
