import "server-only";

/** The whole look of the page: it stands alone, on any screen and on paper, with no file beside it. */
export const STYLE = `
:root { color-scheme: light dark; --ground: #faf7f0; --ink: #1b2433; --line: #b9b2a3; --stop: #a3262a; }
@media (prefers-color-scheme: dark) { :root { --ground: #161c27; --ink: #ece7db; --line: #566074; --stop: #ff9c94; } }
body { margin: 0 auto; padding: 1rem; max-width: 46rem; background: var(--ground); color: var(--ink); font: 1.0625rem/1.5 system-ui, sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.6rem; line-height: 1.2; } h2 { font-size: 1.3rem; margin-top: 2.5rem; border-top: 2px solid var(--ink); padding-top: .6rem; } h3 { font-size: 1.1rem; }
a { color: inherit; } nav ul { columns: 2; } ul { padding-left: 1.2rem; }
article { border-top: 1px solid var(--line); padding: .4rem 0 1rem; }
blockquote { margin: .5rem 0; padding-left: .8rem; border-left: 3px solid var(--line); white-space: pre-line; }
figure { margin: .8rem 0; } img { display: block; max-width: 100%; height: auto; max-height: 36rem; border: 1px solid var(--line); } audio { width: 100%; }
figcaption, .small { font-size: .9rem; } .caution { border: 2px solid var(--ink); padding: .2rem .8rem; } .stop { color: var(--stop); font-weight: 700; }
@media print { body { max-width: none; font-size: 11pt; } article, figure { break-inside: avoid; } audio { display: none; } }
`;
