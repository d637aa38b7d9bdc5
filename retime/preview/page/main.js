// The page begins.
(() => {
  const GAUGE = `${data.gauge}, ${data.frames} film frames`;

  function caution() {
    const { found, said } = data.flashes;
    if (found === false) {
      dom.write(dom.byId("flashing-looked"), said);
      return;
    }
    const head = found ? "Caution: this film flashes." : "Caution: the film was not checked for flashing.";
    dom.write(dom.byId("flashing-said"), `${head} ${said}`);
    dom.byId("flashing").hidden = false;
  }

  const begun = [keys, marks, watch, side, delivered, blind, handing, excerpt, tabs];
  dom.write(dom.byId("film-facts"), `${GAUGE}; made of ${data.source}.`);
  caution();
  for (const one of begun) one.begin();
  refresh.measure().then((rate) => {
    watch.measured(rate);
    blind.measured(rate);
  });
})();
