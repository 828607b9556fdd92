// Starts the page: data, tabs, projector mode, panels, and the functions that scripts may call.

function startPage() {
  const carried = JSON.parse(document.getElementById("lesson-data").textContent);
  const { words, lesson: data } = carried;
  const bench = makeBench(data);
  const reduction = makeReduction(bench);
  const benchPanel = makeBenchPanel(bench, words);
  const after = makeAfterPanel(bench, reduction, words, () => classPanel.isRevealed());
  const classPanel = makeClassPanel(bench, reduction, words, (runs) => after.show(runs));
  const shown = () => {
    after.update();
    benchPanel.update();
    classPanel.show();
  };
  makeTabs(shown);
  const projector = document.getElementById("projector");
  projector.addEventListener("click", () => {
    const on = document.documentElement.classList.toggle("projector");
    projector.setAttribute("aria-pressed", String(on));
    shown();
  });
  // Values under the names of `orbit --json`, and the opposite crossing, without the points to draw.
  const answer = (setting) => {
    const { points, gun, ...numbers } = bench.orbit(setting);
    return numbers;
  };
  const fractionOfField = data.field.largest_difference_fraction;
  window.bench = Object.freeze({
    orbit: answer,
    runs: classPanel.runs,
    weigh: (runs) => reduction.weigh(runs),
    result: classPanel.result,
    carries: Object.freeze({ ...data.provenance, largest_difference_fraction: fractionOfField }),
  });
}

/** Tabs that react to clicks, the arrow keys, Home and End. */
function makeTabs(shown) {
  const tabs = [...document.querySelectorAll('[role="tab"]')];
  const select = (tab) => {
    for (const other of tabs) {
      const is = other === tab;
      other.setAttribute("aria-selected", String(is));
      other.tabIndex = is ? 0 : -1;
      document.getElementById(other.getAttribute("aria-controls")).hidden = !is;
    }
    tab.focus();
    shown();
  };
  tabs.forEach((tab, i) => {
    tab.addEventListener("click", () => select(tab));
    tab.addEventListener("keydown", (event) => {
      const next = { ArrowRight: i + 1, ArrowLeft: i - 1, Home: 0, End: tabs.length - 1 }[event.key];
      if (next === undefined) return;
      event.preventDefault();
      select(tabs[(next + tabs.length) % tabs.length]);
    });
  });
}

startPage();
