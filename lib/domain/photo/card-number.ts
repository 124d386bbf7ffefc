/** Opens every number of ours, so that any other code in a picture is told apart; the 1 is the card's edition. */
const PREFIX = "TS1";
/** Crockford's base 32: no I, L, O or U, so that a number read aloud is not mistaken. */
const DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/** Random characters: 60 bits, so that no two cards meet and none is guessed. */
export const CARD_RANDOM_LENGTH = 12;

const SHAPE = new RegExp(`^${PREFIX}[${DIGITS}]{${CARD_RANDOM_LENGTH}}[0-9A-Z]$`);
const CHECKED = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";

/**
 * A card's number from twelve random bytes: prefix, twelve characters, check character. Sixteen
 * characters of the code's alphanumeric mode are the most that its smallest form holds at level Q
 * (ISO/IEC 18004, 21 modules a side), and fewer modules are larger ones.
 */
export function cardNumber(random: Uint8Array): string {
  if (random.length !== CARD_RANDOM_LENGTH) throw new RangeError("a card number takes twelve random bytes");
  const body = PREFIX + [...random].map((byte) => DIGITS.charAt(byte % DIGITS.length)).join("");
  return body + checkCharacter(body);
}

/** Whether a code's text is a number of ours, its check character included. */
export const isCardNumber = (text: string): boolean => SHAPE.test(text) && checkCharacter(text.slice(0, -1)) === text.slice(-1);

/** What a person compares by eye or reads out: the last six characters in two groups. */
export const shortCardNumber = (number: string): string => `${number.slice(-6, -3)}-${number.slice(-3)}`;

/** ISO/IEC 7064, MOD 37,36: finds every single wrong character and every two neighbours that changed places. */
export function checkCharacter(text: string): string {
  let product = 36;
  for (const character of text) {
    const sum = (product + CHECKED.indexOf(character)) % 36 || 36;
    product = (sum * 2) % 37;
  }
  return CHECKED.charAt((37 - product) % 36);
}
