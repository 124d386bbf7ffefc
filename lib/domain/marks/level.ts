import type { CardSaid } from "@/lib/domain/photo/side-card";

/**
 * Where level runs in a photo, as `readingOf` wants it, from the side card that stands in it, whoever's
 * it is; null without one that can be trusted. The card's own figure is from the nearest edge of the
 * picture, and level runs along the other edge in a picture that lies on its side.
 */
export const levelOf = (card: CardSaid | null): number | null =>
  card?.found === "one" && card.levelDegrees !== null ? card.levelDegrees - card.turnToUpright : null;
