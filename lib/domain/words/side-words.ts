/**
 * English words that tell what a "left" or "right" is about. Another language brings its own list.
 */
const set = (words: string): ReadonlySet<string> => new Set(words.split(" "));

export const ARM = set("arm arms hand hands elbow elbows palm palms wrist fingers armpit shoulder shoulders blade");
export const LEG = set("leg legs knee knees foot feet heel toes thigh");
export const PROP = set("bag bags prop towel cushion pillow sandbag sandbags");
export const BREATH = set("breathe breathes breathing breath breaths widen widens widening wide wider inhale air fill");
export const LIE = set("lie lies lying");
/** Turning onto a side is lying on it afterwards; turning to a side may be anything. */
export const TURN = set("roll rolls rolling turn turns turning");
/** Parts a child has on both sides and that several facets speak of. */
export const TRUNK = set("back hip hips waist rib ribs chest trunk body pelvis apex lung");

/** Which arm or leg: the words beside it, then what it does. */
export const TOP_OF = {
  arm: set("up high higher lift lifts lifting raise raises open forward stool press pressing"),
  leg: set("straight lift lifts lifting raise raises reach reaches reaching"),
} as const;
export const BOTTOM_OF = {
  arm: set("floor mat long palm"),
  leg: set("bent bend bending bends"),
} as const;

/** May stand between a side and the word it is about. */
export const BETWEEN_FORWARD = set("top bottom upper lower low small side of the your her his their my - shoulder");
export const BETWEEN_BACKWARD = set(
  "is are be should must goes go stays stay rests on onto into under of the your her his their my side ( : , - – — =",
);

/** The sentence may say the contrary, speak of what was seen, or of the picture: nobody can tell. */
export const UNSURE = set(
  "not no never don't doesn't isn't aren't can't won't didn't shouldn't mustn't without instead rather than wrong opposite unless was were seems looks photo picture image screen camera mirror",
);
/** Directions: the bags moved to the left may well lie on the right. */
export const MOVING = set("move moves shift push pull slide toward towards further nearer more turn tilt to");

/** "Right under the ribs", "you left the bags": as likely no side as one. */
export const AFTER_DOUBTFUL = set(
  "under below beneath above over at in into on against between behind before after up through to there here next until when where the your her his their my a it",
);

export const POINTING = set("the your her his their my its on onto into to toward towards top bottom");
export const BEFORE_WELL = set("all quite just exactly that's perfectly");
export const AFTER_RIGHT = set("away now angle angles");
export const AFTER_LEFT = set("over out alone");

export const ENDS_SENTENCE = set(". ! ? ; \n");
export const ENDS_PIECE = set(". ! ? ; \n , and but while then with so because");
