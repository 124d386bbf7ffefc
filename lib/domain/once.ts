/**
 * The same work, done once for each key as long as the function that is given back is kept: for one read or one page, never longer.
 * What has several parts says its key itself.
 */
export function once<Of, Made>(work: (of: Of) => Made, keyOf: (of: Of) => unknown = (of) => of): (of: Of) => Made {
  const made = new Map<unknown, { readonly is: Made }>();
  return (of) => {
    const key = keyOf(of);
    const there = made.get(key) ?? { is: work(of) };
    made.set(key, there);
    return there.is;
  };
}
