/**
 * The place an address lies in, as one of `hrefs`, or none. A photo set is answered from the queue; the rest of a
 * child's pages on the desk belong to its family; cues and exercises are the practice's.
 */
export function placeOf(path: string, hrefs: readonly string[]): string | undefined {
  const within = path.replace(/^\/desk\/children\/[^/]+\/sets\/.*/, "/desk").replace(/^\/desk\/children\/.*/, "/desk/families")
    .replace(/^\/desk\/(?:cues|exercises)(?:\/.*)?$/, "/desk/practice");
  return hrefs.find((href) => within === href) ?? hrefs.find((href) => !isFirst(href) && within.startsWith(`${href}/`));
}

/** "/desk" and "/family" hold all the rest, so they are marked only when they are the address itself. */
const isFirst = (href: string): boolean => href.lastIndexOf("/") === 0;
