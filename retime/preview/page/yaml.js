// Names and texts as YAML. What is not plainly a word or a number stands in double quotes.
const yaml = (() => {
  const PLAIN = /^[A-Za-z0-9](?:[A-Za-z0-9_./ -]*[A-Za-z0-9_.])?$/;
  const TAKEN_FOR_OTHERS = /^(?:null|true|false|yes|no|on|off)$/i; // by other readers of YAML
  // Controls, what turns the direction of reading, and halves of characters are written as numbers.
  const UNSEEN = /[\u0000-\u001f\u007f-\u00a0\u00ad\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\uffff]/g;
  const HALF = /[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g;

  function escaped(character) {
    return `\\u${character.charCodeAt(0).toString(16).padStart(4, "0")}`;
  }

  function quoted(text) {
    const whole = String(text).replace(HALF, "\ufffd").replace(/[\\"]/g, "\\$&");
    return `"${whole.replace(UNSEEN, escaped)}"`;
  }

  function word(text) {
    return PLAIN.test(text) && !TAKEN_FOR_OTHERS.test(text) ? text : quoted(text);
  }

  // One line without controls, which no document takes.
  function line(text, longest = 300) {
    const flat = String(text).replace(HALF, "\ufffd").replace(/[\u0000-\u001f\u007f-\u009f]+/g, " ").trim();
    const letters = [...flat];
    return letters.length > longest ? `${letters.slice(0, longest - 1).join("")}…` : flat;
  }

  return { quoted, word, line };
})();
