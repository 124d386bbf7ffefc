import { isLocale, type Locale } from "@/lib/domain/words/reader";

const EN = {
  oldTitle: "Trueside was renewed",
  oldForm: "This page is from before Trueside was renewed, so nothing was sent. What you typed is kept: reload, look through it, and send it again.",
  oldPage: "This page is from before Trueside was renewed. Reload it to go on. If your child was told to stop, that still stands.",
  reload: "Reload",
  lost: "Trueside could not be reached, so we do not know whether this arrived. Everything is still here: press again when you have signal. It will not count twice.",
  wrongTitle: "Something went wrong",
  wrongPage: "This page could not be shown. What you sent before is kept. If your child was told to stop, that still stands.",
  again: "Try again",
  prove: "Show your second step, in a new tab",
  proveByMail: "Show that it is you, in a new tab",
  signIn: "Sign in, in a new tab",
  reference: "If it keeps happening, tell your practice this reference:",
};

/** What is said when the server cannot be asked for words: it comes with the code, in every language. */
const WORDS: Readonly<Record<Locale, typeof EN>> = {
  en: EN,
  es: {
    oldTitle: "Trueside se ha renovado",
    oldForm: "Esta página es de antes de que Trueside se renovara, así que no se ha enviado nada. Lo que escribió se guarda: recargue la página, revíselo y envíelo otra vez.",
    oldPage: "Esta página es de antes de que Trueside se renovara. Recárguela para seguir. Si le dijeron que parara, eso sigue en pie.",
    reload: "Recargar",
    lost: "No se pudo conectar con Trueside, así que no sabemos si esto llegó. Todo sigue aquí: pulse otra vez cuando tenga señal. No contará dos veces.",
    wrongTitle: "Algo ha fallado",
    wrongPage: "No se pudo mostrar esta página. Lo que envió antes se guarda. Si le dijeron que parara, eso sigue en pie.",
    again: "Intentar otra vez",
    prove: "Mostrar su segundo paso, en otra pestaña",
    proveByMail: "Demostrar que es usted, en otra pestaña",
    signIn: "Entrar, en otra pestaña",
    reference: "Si vuelve a pasar, dé a su consulta esta referencia:",
  },
};

/** In the language of the page at hand. */
export function wordsAtHand(): typeof EN {
  const language = typeof document === "undefined" ? "en" : document.documentElement.lang;
  return WORDS[isLocale(language) ? language : "en"];
}
