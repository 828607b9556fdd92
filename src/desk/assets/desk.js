// What the pages do beyond exchanging parts: the page's token on every request, progress, saving, undo, drafts.
"use strict";
(() => {
  const token = document.querySelector("meta[name=page-token]").content;
  const ours = { "x-desk-page": token };

  document.addEventListener("htmx:config:request", (event) => {
    event.detail.ctx.request.headers["x-desk-page"] = token;
  });
  // Once the desk has ended, every tab of it says so.
  const ended = () => {
    if (document.querySelector(".closed")) return;
    const told = document.createElement("p");
    told.className = "closed";
    told.setAttribute("role", "alert");
    told.textContent = "The desk has ended. Copy from this tab what is not saved: a desk that is opened anew finds it only if it gets the same port.";
    document.body.append(told);
  };
  const tabs = "BroadcastChannel" in window ? new BroadcastChannel("desk") : null;
  if (tabs) tabs.onmessage = (event) => { if (event.data === "ended") ended(); };
  document.addEventListener("htmx:after:request", (event) => {
    if (tabs && event.target.closest?.("[hx-post='/do/quit']") && event.detail.ctx.response?.raw?.ok) tabs.postMessage("ended");
  });
  // The files of this folder with edits that are not saved.
  const unsavedNames = () => {
    const begins = "draft " + folder + "/";
    try {
      const drafts = Object.keys(localStorage).filter((key) => key.startsWith(begins));
      return [...new Set(drafts.map((key) => decodeURIComponent(key.slice(begins.length).split("\n")[0])))];
    } catch (_) { return []; /* no store */ }
  };
  document.addEventListener("htmx:before:request", (event) => {
    const asked = event.target.closest?.("[data-confirm]");
    if (!asked) return;
    const unsaved = unsavedNames();
    const words = asked.dataset.confirm + (unsaved.length ? " Edits that are not saved may be lost: " + unsaved.join(", ") + "." : "");
    if (!window.confirm(words)) event.preventDefault();
  });

  // Shows the progress of a run until it is done.
  const listening = new WeakSet();
  const listen = () => {
    for (const run of document.querySelectorAll("[data-told]")) {
      if (listening.has(run)) continue;
      listening.add(run);
      const source = new EventSource(run.dataset.told);
      source.addEventListener("step", (event) => {
        run.querySelector("[data-step]").textContent = event.data;
        const percent = parseFloat(event.data);
        const bar = run.querySelector("progress");
        if (Number.isFinite(percent)) bar.value = percent;
      });
      const over = () => { source.close(); run.dispatchEvent(new Event("done")); };
      source.addEventListener("done", over);
      source.addEventListener("error", over);
    }
  };
  document.addEventListener("htmx:after:swap", listen);
  // The winding that was chosen, and the button that keeps it, come on screen.
  document.addEventListener("htmx:after:swap", (event) => {
    if (event.target.closest?.("#windings")) document.querySelector("#windings .card")?.scrollIntoView({ block: "nearest" });
  });
  // What is told at an answer of the first spec is marked there as well, as long as it is told.
  document.addEventListener("htmx:after:swap", () => {
    for (const told of document.querySelectorAll("#first .value > .wrong")) {
      const field = told.parentElement.querySelector("input, select");
      if (told.textContent && !told.classList.contains("odd")) field.setAttribute("aria-invalid", "true");
      else field.removeAttribute("aria-invalid");
    }
  });
  // If a form that was sent is wrong, the focus goes to the first wrong field.
  document.addEventListener("htmx:after:swap", () => {
    if (document.activeElement === document.body) document.querySelector('#first [aria-invalid="true"]')?.focus();
  });

  document.addEventListener("click", async (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if ("print" in button.dataset) window.print();
    if ("copies" in button.dataset) {
      await navigator.clipboard.writeText(button.closest("p").querySelector("[data-copy]").textContent);
      button.textContent = "Copied";
    }
    if ("keepAll" in button.dataset) {
      for (const form of button.closest("section").querySelectorAll("form.keep")) if (!form.parentElement.querySelector(".kept a")) form.requestSubmit();
    }
    if ("line" in button.dataset) showLine(Number(button.dataset.line));
  });

  // Marks the fields that an answer's error is about, and opens the part that holds them.
  document.addEventListener("htmx:after:swap", () => {
    const answer = document.querySelector("#answer > .answer");
    if (!answer) return;
    const wrong = answer.dataset.wrong.split(" ");
    for (const field of document.querySelectorAll("form.ask [name]")) {
      const isWrong = wrong.includes(field.name);
      field.setAttribute("aria-invalid", isWrong ? "true" : "false");
      if (isWrong && field.closest("details")) field.closest("details").open = true;
    }
  });

  // The runs that are not ticked stand in the field of runs left out. Heard before the form asks anew.
  document.addEventListener("change", (event) => {
    const leftOut = document.querySelector("form.ask [name=without]");
    if (!leftOut) return;
    const lines = new Set(leftOut.value.split("\n").map((line) => line.trim()).filter((line) => line));
    if (event.target.dataset.run !== undefined) {
      if (event.target.checked) lines.delete(event.target.dataset.run); else lines.add(event.target.dataset.run);
      leftOut.value = [...lines].join("\n");
    }
    if (event.target === leftOut) {
      for (const tick of document.querySelectorAll("[data-run]")) tick.checked = !lines.has(tick.dataset.run);
    }
  }, true);

  // The page's address holds the filled form, so that back, reload and bookmarks restore it.
  document.addEventListener("htmx:after:swap", () => {
    const again = document.querySelector("#answer [data-again]");
    if (again && document.querySelector("form.ask")) history.replaceState(null, "", "/" + again.dataset.again);
  });

  // What the page offers follows the form as well: the command, the address and the archive.
  let offering = 0;
  const offer = async () => {
    const asked = document.querySelector("form.ask");
    const tools = document.querySelector("main > .tools");
    if (!asked || !tools) return;
    const mine = ++offering;
    const answer = await fetch("/do/tools/" + asked.dataset.ask, { method: "POST", headers: ours, body: new URLSearchParams(new FormData(asked)) }).catch(() => null);
    if (answer && answer.ok && mine === offering) tools.outerHTML = await answer.text();
  };
  document.addEventListener("change", (event) => { if (event.target.closest("form.ask, [data-run]")) offer(); });

  // The links to the other questions carry the files that are chosen now.
  const keep = () => {
    const asked = document.querySelector("form.ask");
    if (!asked) return;
    const chosen = new URLSearchParams();
    for (const field of asked.querySelectorAll("[data-keeps]")) {
      if (field.value && (field.type !== "checkbox" || field.checked)) chosen.append(field.name, field.value);
    }
    for (const link of document.querySelectorAll("nav a")) link.search = chosen;
  };
  document.addEventListener("change", keep);

  // A name for this window that stays the same as long as the window exists.
  const windowId = () => {
    try {
      if (!sessionStorage.getItem("window")) sessionStorage.setItem("window", crypto.randomUUID());
      return sessionStorage.getItem("window");
    } catch (_) { return "one"; }
  };

  // Sends one request at a time. While one is under way, a further call makes one more follow.
  const newest = (send) => {
    let busy = false;
    let next = false;
    const run = async () => {
      next = busy;
      if (busy) return;
      busy = true;
      try { await send(); } finally { busy = false; }
      if (next) run();
    };
    return run;
  };

  // Asks for the field at a point: the point under the mouse, the clicked point, or the typed coordinates.
  const asking = new WeakMap();
  const ask = (part) => {
    if (!asking.has(part)) asking.set(part, newest(async () => {
      const body = new URLSearchParams();
      for (const field of part.querySelectorAll("input[name]")) body.set(field.name, field.value);
      const typed = part.closest("form[data-file]")?.querySelector("#text");
      if (typed) body.set("text", typed.value);
      const answer = await fetch(part.dataset.fieldAt, { method: "POST", headers: ours, body }).catch(() => null);
      if (!answer || !answer.ok) return;
      const place = part.querySelector(".value-at");
      const isOpen = place.querySelector("details")?.open;
      place.innerHTML = await answer.text();
      if (isOpen && place.querySelector("details")) place.querySelector("details").open = true;
    }));
    asking.get(part)();
  };
  const partOf = (target) => {
    const image = target instanceof Element && target.closest("figure img");
    if (!image) return null;
    const part = image.closest("[data-field-at]") || image.closest("form[data-file]")?.querySelector("[data-field-at]");
    return part && part.dataset.layout ? { image, part } : null;
  };
  const point = (event, holds) => {
    const found = partOf(event.target);
    if (!found || (!holds && "held" in found.part.dataset)) return;
    const { image, part } = found;
    const { sheet, plot, directions, right, up } = JSON.parse(part.dataset.layout);
    const box = image.getBoundingClientRect();
    const across = ((event.clientX - box.left) / box.width * sheet[0] - plot[0]) / plot[2];
    const down = ((event.clientY - box.top) / box.height * sheet[1] - plot[1]) / plot[3];
    if (!(across >= 0 && across <= 1 && down >= 0 && down <= 1)) return;
    const metres = [0, 0, 0];
    metres[directions[0]] = right[0] + across * (right[1] - right[0]);
    metres[directions[1]] = up[1] - down * (up[1] - up[0]);
    ["x", "y", "z"].forEach((name, place) => {
      part.querySelector(`[name=${name}]`).value = (1000 * metres[place]).toFixed(1) + " mm";
    });
    const mark = image.nextElementSibling;
    mark.hidden = !holds;
    mark.style.left = event.clientX - box.left + image.offsetLeft + "px";
    mark.style.top = event.clientY - box.top + image.offsetTop + "px";
    if (holds) part.dataset.held = "";
    ask(part);
  };
  document.addEventListener("pointermove", (event) => point(event, false));
  document.addEventListener("click", (event) => {
    const found = partOf(event.target);
    if (!found) return;
    // A second click releases the point.
    const mark = found.image.nextElementSibling;
    if ("held" in found.part.dataset) { delete found.part.dataset.held; mark.hidden = true; } else point(event, true);
  });
  document.addEventListener("input", (event) => {
    const part = event.target.closest("[data-field-at]");
    if (part) { event.stopPropagation(); ask(part); }
  }, true);

  // The pair after a current was held for a time. The sliders move their fields.
  const held = document.querySelector("[data-held]");
  if (held) {
    const own = document.querySelector("form.ask [name=current]");
    const follow = newest(async () => {
      const body = new URLSearchParams();
      for (const field of held.querySelectorAll("input[name]")) body.set(field.name, field.value);
      body.set("spec", document.querySelector("form.ask [name=spec]").value);
      if (document.querySelector("form.ask [name=nominal]")?.checked) body.set("nominal", "on");
      const answer = await fetch(held.dataset.held, { method: "POST", headers: ours, body }).catch(() => null);
      if (answer && answer.ok) held.querySelector(".held").innerHTML = await answer.text();
    });
    held.addEventListener("input", (event) => {
      const slid = event.target.dataset.slides;
      if (slid) document.getElementById(slid).value = event.target.value + " " + event.target.dataset.unit;
      follow();
    });
    held.addEventListener("change", (event) => {
      if (event.target.type !== "range" && event.target.name !== "current") return;
      const current = document.getElementById("held-current").value;
      if (event.target.name === "time" || event.target.dataset.slides === "held-time" || own.value === current) return;
      own.value = current;
      own.dispatchEvent(new Event("change", { bubbles: true }));
    });
    document.addEventListener("change", (event) => {
      if (!event.target.closest("form.ask")) return;
      if (event.target === own && own.value) document.getElementById("held-current").value = own.value;
      follow();
    });
    if (own.value) document.getElementById("held-current").value = own.value;
    follow();
  }

  // Answers that are not sent yet survive a reload, the way back and a closed tab. All folders served on one port share
  // the browser's storage, so the key names the folder.
  const folder = document.querySelector(".where").textContent;
  const keyOf = (name) => "unsent " + folder + "/" + name;
  // The page of a new file says which form made it. That form is done with.
  const made = new URLSearchParams(location.search).get("made");
  if (made) {
    try { localStorage.removeItem(keyOf(made)); } catch (_) { /* no store */ }
    history.replaceState(null, "", location.pathname);
  }
  const unsent = (selector, name) => {
    if (!document.querySelector(selector)) return;
    const key = keyOf(name);
    const fields = () => [...document.querySelectorAll(selector + " :is(input, select, textarea)[name]")];
    const values = () => JSON.stringify(fields().map((field) => [field.name, field.value]));
    const store = () => { try { localStorage.setItem(key, values()); } catch (_) { /* no room */ } };
    const fill = (text) => {
      const kept = new Map(JSON.parse(text));
      for (const field of fields()) field.value = kept.get(field.name) ?? "";
      const tell = () => fields()[0].dispatchEvent(new CustomEvent("change", { bubbles: true, detail: "filled" }));
      // Before the page has loaded, nobody else hears it yet.
      if (document.readyState === "complete") tell(); else window.addEventListener("load", () => setTimeout(tell));
    };
    const past = [values()];
    let now = 0;
    const note = () => {
      if (past[now] === values()) return;
      past.splice(now + 1, past.length, values());
      now = past.length - 1;
    };
    try {
      const kept = localStorage.getItem(key);
      if (kept && kept !== values()) { fill(kept); note(); }
    } catch (_) { /* no store, or not ours */ }
    const isOurs = (event) => event.target.closest(selector);
    document.addEventListener("input", (event) => { if (isOurs(event)) store(); });
    document.addEventListener("change", (event) => { if (isOurs(event) && event.detail !== "filled") { store(); note(); } });
    const step = (by) => {
      if (past[now + by] === undefined) return;
      now += by;
      fill(past[now]);
      store();
    };
    document.addEventListener("click", (event) => {
      const button = isOurs(event) && event.target.closest("button");
      if (!button) return;
      if ("back" in button.dataset) step(-1);
      if ("forth" in button.dataset) step(1);
      if ("clear" in button.dataset) { fill("[]"); note(); store(); }
    });
  };
  unsent("form.first", "first");
  unsent("form[data-new]", "new");

  // Takes files into the folder.
  const told = document.getElementById("take-told");
  const take = async (files) => {
    if (!told) return;
    const taken = [];
    for (const file of [...files]) {
      const line = document.createElement("p");
      const isTooLarge = file.size > Number(told.dataset.largest);
      const answer = isTooLarge ? null : await fetch("/do/file/" + encodeURIComponent(file.name), {
        method: "PUT", headers: { ...ours, "if-none-match": "*" }, body: file,
      }).catch(() => null);
      const why = isTooLarge ? "larger than " + told.dataset.largest / 1048576 + " MiB, the largest file that the desk takes" : !answer ? "the desk is closed" : answer.ok ? "" :
        answer.status === 412 ? "there is a file of that name" : new DOMParser().parseFromString(await answer.text(), "text/html").body.textContent.trim();
      if (!why) taken.push(file.name);
      line.textContent = file.name + ": " + (why || "taken in");
      told.append(line);
    }
    const asked = document.querySelector("form.ask");
    const link = document.createElement("a");
    link.href = "/";
    link.textContent = "Show the folder";
    if (asked) {
      // The question's page with what was taken in ticked as well.
      const ticked = new URLSearchParams(new FormData(asked));
      for (const name of taken) ticked.append("quotes", name);
      link.href = location.pathname + "?" + ticked;
      link.textContent = "Tick what was taken in";
      if (taken.length === files.length) location.assign(link.href);
    }
    told.append(link);
  };
  const chooser = document.getElementById("take");
  if (chooser) chooser.addEventListener("change", () => take(chooser.files));
  if (told) {
    document.addEventListener("dragover", (event) => { event.preventDefault(); document.body.classList.add("dropping"); });
    document.addEventListener("dragleave", () => document.body.classList.remove("dropping"));
    document.addEventListener("drop", (event) => {
      event.preventDefault();
      document.body.classList.remove("dropping");
      take(event.dataTransfer.files);
    });
  }

  // A document. Its form and its text follow each other, and their result is shown at once. Edits are kept as a draft.
  // Saving replaces only contents that the user has seen.
  const form = document.querySelector("form[data-file]");
  const text = form && form.querySelector("textarea#text");
  const showLine = (line) => {
    document.getElementById("as-text").open = true;
    const lines = text.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, it) => sum + it.length + 1, 0);
    text.focus();
    text.setSelectionRange(start, start + (lines[line - 1] || "").length);
    text.scrollTop = Math.max(0, (line - 5) * parseFloat(getComputedStyle(text).lineHeight));
  };
  if (form) {
    const name = form.dataset.file;
    const draft = "draft " + folder + "/" + name;
    const say = (words, isWrong) => {
      const place = document.getElementById("file-told");
      place.textContent = words;
      place.className = isWrong ? "alert" : "told";
    };
    const sayBoth = (words, other) => {
      say(words, true);
      const both = document.createElement("textarea");
      both.readOnly = true;
      both.rows = 20;
      both.value = other;
      both.setAttribute("aria-label", "the file as it is now");
      document.getElementById("file-told").append(both);
    };
    // Each window keeps its own edits, so that saving in one does not remove those of another.
    const own = draft + "\n" + windowId();
    const store = (value) => { try { value === null ? localStorage.removeItem(own) : localStorage.setItem(own, value); } catch (_) { /* no room */ } };
    // The edits of this window or, if there are none, the latest of another window, which become this window's.
    const takeKept = () => {
      try {
        const all = Object.keys(localStorage).filter((key) => key.startsWith(draft + "\n"))
          .map((key) => ({ key, kept: JSON.parse(localStorage.getItem(key)) })).filter((it) => it.kept && typeof it.kept.text === "string");
        all.sort((one, other) => (other.key === own) - (one.key === own) || (other.kept.at || 0) - (one.kept.at || 0));
        if (!all.length) return null;
        const { key, kept } = all[0];
        localStorage.removeItem(key);
        localStorage.setItem(own, JSON.stringify(kept));
        return kept;
      } catch (_) { return null; /* no store, or not ours */ }
    };
    const edits = (value) => store(JSON.stringify({ tag: form.dataset.tag, text: value, at: Date.now() }));

    // Whoever comes back to the window is told if another program has changed the file meanwhile.
    let seenOnDisk = form.dataset.tag;
    window.addEventListener("focus", async () => {
      const answer = await fetch("/file/" + name, { headers: ours }).catch(() => null);
      const page = answer && answer.ok && new DOMParser().parseFromString(await answer.text(), "text/html");
      const tag = page && page.querySelector("form[data-file]")?.dataset.tag;
      if (!tag || tag === form.dataset.tag || tag === seenOnDisk) return;
      seenOnDisk = tag;
      say("Another program has changed this file. Reload the page to see it as it is now; to save shows both.", true);
    });

    // Undo keeps every text that was checked, in order.
    // All that one drag changes is one step. The text that the page began with is never dropped.
    let saved = text.value;
    const past = [text.value];
    let now = 0;
    let noted = 0;
    const note = (value, stroke = 0) => {
      if (past[now] === value) return;
      if (stroke && stroke === noted && now === past.length - 1) past[now] = value;
      else past.splice(now + 1, past.length, value);
      noted = stroke;
      if (past.length > 300) past.splice(1, 1);
      now = past.length - 1;
      edits(value);
    };

    const show = (seen) => {
      if (text.value !== seen.text) text.value = seen.text;
      document.getElementById("checked").innerHTML = seen.checked;
      const unread = document.getElementById("unread");
      if (unread) {
        unread.textContent = seen.unread;
        unread.hidden = !seen.unread;
        document.getElementById("fields").disabled = !!seen.unread;
      }
      if (seen.form) renew(seen.form);
      // The fields of a text that cannot be read keep what they showed last.
      for (const field of seen.unread ? [] : form.querySelectorAll("[data-pointer]")) {
        const pointer = field.dataset.pointer;
        const value = seen.values[pointer] || "";
        if (field !== document.activeElement && !next.has(pointer) && field.value !== value) field.value = value;
        const wrong = seen.wrong[pointer] || "";
        field.setAttribute("aria-invalid", wrong ? "true" : "false");
        const told = document.getElementById("w" + pointer);
        told.textContent = wrong || seen.odd[pointer] || "";
        told.classList.toggle("odd", !wrong && !!told.textContent);
        const slider = form.querySelector('[data-drags="f' + CSS.escape(pointer) + '"]');
        if (slider) slider.disabled = !/\d/.test(field.value) && !slider.dataset.from;
      }
      for (const field of form.querySelectorAll("[data-setting]")) {
        const wrong = seen.wrong[field.dataset.setting] || "";
        field.setAttribute("aria-invalid", wrong ? "true" : "false");
        document.getElementById("w" + field.dataset.setting).textContent = wrong;
      }
      const isHeld = !seen.picture && !seen.is_whole && drawnOf === looked();
      document.getElementById("stale").hidden = !isHeld;
      if (seen.steps) sketch(seen.steps);
      else if (!isHeld) draw(seen.picture);
      for (const part of form.querySelectorAll("[data-seen]")) {
        part.hidden = part.dataset.seen !== looked() || (!seen.is_whole && !part.classList.contains("settings"));
      }
      const fieldAt = form.querySelector("[data-field-at]");
      if (fieldAt && seen.layout) { fieldAt.dataset.layout = JSON.stringify(seen.layout); if (!drag) ask(fieldAt); }
      else if (fieldAt) { delete fieldAt.dataset.layout; delete fieldAt.dataset.held; form.querySelector("#picture .mark").hidden = true; }
      const fit = document.getElementById("fit");
      if (fit) fit.innerHTML = seen.fit;
      const beam = document.getElementById("beam");
      if (beam) beam.querySelector("pre").innerHTML = seen.beam;
      sheet.hidden = !seen.is_whole;
      // While a slider is held the data sheet waits, and is pale.
      if (seen.sheet) sheet.querySelector("pre").innerHTML = seen.sheet;
      sheet.classList.toggle("waits", sheet.open && !seen.sheet);
    };

    // Puts other fields into the form, because a list has become longer or shorter. What is open, the order of the parts
    // and the place where one types stay.
    const renew = ([markup, shape]) => {
      const fields = document.getElementById("fields");
      const parts = [...fields.querySelectorAll("[data-part]")].map((part) => [part.dataset.part, part.open]);
      const order = new Map(parts.map(([pointer], place) => [pointer, place]));
      const active = fields.contains(document.activeElement) ? document.activeElement : null;
      const caret = active && active.tagName === "INPUT" && active.type !== "range" ? [active.selectionStart, active.selectionEnd] : null;
      fields.innerHTML = markup;
      fields.dataset.shape = shape;
      for (const [pointer, isOpen] of parts) {
        const part = fields.querySelector('[data-part="' + CSS.escape(pointer) + '"]');
        if (part && isOpen) part.open = true;
      }
      for (const part of fields.querySelectorAll("[data-part]")) {
        const place = order.get(part.dataset.part);
        let before = part.previousElementSibling;
        while (place !== undefined && before && before.matches("[data-part]") && order.get(before.dataset.part) > place) {
          before.before(part);
          before = part.previousElementSibling;
        }
      }
      const again = active && active.id && document.getElementById(active.id);
      if (again) {
        again.value = active.value;
        again.focus({ preventScroll: true });
        if (caret && again.setSelectionRange) again.setSelectionRange(...caret);
      }
    };

    // A picture arrives as SVG text. While the text is wrong the last one stays, and says so. It is shown through a URL of its own until the next picture replaces it.
    let drawn = "";
    let drawnOf = "";
    const picture = document.getElementById("picture");
    const draw = (svg) => {
      const image = picture.querySelector("img");
      picture.hidden = !svg;
      drawnOf = svg ? looked() : "";
      if (drawn) URL.revokeObjectURL(drawn);
      const own = drawn = svg ? URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" })) : "";
      if (svg) image.src = drawn;
      // A sketch stays until the picture that follows it can be shown.
      const shown = () => { if (drawn === own && !drag) { image.hidden = false; picture.querySelector("canvas").hidden = true; } };
      image.decode().then(shown, shown);
    };
    // While a slider is held, a picture arrives as steps for a canvas: a browser takes longer to read a document than to draw it.
    const sketch = ({ size, fineness, families, marks, texts }) => {
      const canvas = picture.querySelector("canvas");
      if (canvas.width !== Math.round(size[0])) canvas.width = Math.round(size[0]);
      if (canvas.height !== Math.round(size[1])) canvas.height = Math.round(size[1]);
      const on = canvas.getContext("2d", { alpha: false });
      on.lineJoin = on.lineCap = "round";
      on.setTransform(1 / fineness, 0, 0, 1 / fineness, 0, 0);
      for (const { path, colour, opacity, width, dash } of marks) {
        const shape = new Path2D(path);
        on.globalAlpha = opacity;
        if (width === undefined) { on.fillStyle = colour; on.fill(shape); continue; }
        on.strokeStyle = colour;
        on.lineWidth = width * fineness;
        on.setLineDash((dash || []).map((length) => length * fineness));
        on.stroke(shape);
      }
      on.globalAlpha = 1;
      on.setLineDash([]);
      for (const { says, at, size: high, weight, anchor, turn, colour, rim } of texts) {
        on.setTransform(1, 0, 0, 1, at[0], at[1]);
        on.rotate(turn * Math.PI / 180);
        on.font = weight + " " + high + "px " + families;
        on.textAlign = anchor;
        if (rim) { [on.strokeStyle, on.lineWidth] = rim; on.strokeText(says, 0, 0); }
        on.fillStyle = colour;
        on.fillText(says, 0, 0);
      }
      picture.hidden = canvas.hidden = false;
      drawnOf = looked();
      const image = picture.querySelector("img");
      image.hidden = true;
      canvas.setAttribute("aria-label", image.alt);
      canvas.dataset.pictures = Number(canvas.dataset.pictures || 0) + 1;
    };
    const looked = () => form.querySelector("[name=see]:checked")?.value || "map";

    // The text is open where there is room for it beside the rest.
    const asText = document.getElementById("as-text");
    const isWide = window.matchMedia("(min-width: 107rem)");
    const unfold = () => { if (isWide.matches) asText.open = true; };
    isWide.addEventListener("change", unfold);
    unfold();

    // The help of the field in focus, or under the mouse, stands in the bar below the form.
    const help = document.getElementById("help");
    const tellHelp = (event) => {
      const value = event.target.closest("#fields .value");
      const told = value && value.querySelector(".help");
      if (help && told) help.textContent = told.textContent;
    };
    form.addEventListener("focusin", tellHelp);
    form.addEventListener("mouseover", (event) => { if (event.target.tagName === "LABEL") tellHelp(event); });

    const sheet = document.getElementById("sheet");
    sheet.addEventListener("toggle", () => { if (sheet.open) look(); });

    // Sends one request at a time. While one is under way, the newest value of each field waits.
    let busy = false;
    let waiting = null;
    const next = new Map();
    const look = async (pointer = "", value = "", stroke = 0, removes = "") => {
      if (busy) { next.delete(pointer); next.set(pointer, { value, stroke }); return; }
      busy = true;
      const before = text.value;
      const shape = document.getElementById("fields")?.dataset.shape || "";
      const body = new URLSearchParams({ text: before, pointer, value, removes, shape, sheet: sheet.open && !drag ? "on" : "", see: looked(), dragged: drag ? "on" : "" });
      for (const field of form.querySelectorAll("[data-setting]")) body.set(field.dataset.setting, field.value);
      const answer = await fetch("/do/typed/" + name, { method: "POST", headers: ours, body }).catch(() => null);
      if (answer && answer.ok) {
        const seen = await answer.json();
        if (text.value === before) {
          show(seen);
          note(seen.text, stroke);
        } else if (!next.has(pointer)) {
          // The text was edited meanwhile, so the change is made again in the newer text.
          next.set(pointer, { value, stroke });
        }
      } else {
        say("The desk does not answer: your text stays here.", true);
      }
      busy = false;
      const first = next.entries().next().value;
      if (first) { next.delete(first[0]); look(first[0], first[1].value, first[1].stroke); }
    };
    // Resolves once everything typed is in the text.
    const settled = async () => {
      clearTimeout(waiting);
      while (busy || next.size) await new Promise((done) => setTimeout(done, 20));
    };

    text.addEventListener("input", () => {
      edits(text.value);
      clearTimeout(waiting); waiting = setTimeout(() => look(), 150);
    });
    const changed = (field, stroke = 0) => look(field.dataset.pointer || "", field.dataset.pointer ? field.value : "", stroke);
    let drag = null;
    let strokes = 0;
    form.addEventListener("input", (event) => {
      const field = event.target;
      if (field.dataset.pointer || field.dataset.setting) changed(field);
      if (field.name === "see") {
        history.replaceState(null, "", looked() === "beam" ? "?see=beam" : location.pathname);
        look();
      }
      if (field.dataset.drags) {
        const input = document.getElementById(field.dataset.drags);
        if (!drag || drag.input !== input) {
          const found = /^\s*([-+−]?[\d.]+(?:[eE][-+]?\d+)?)\s*(.*)$/.exec(input.value || field.dataset.from || "");
          if (!found) return;
          const from = parseFloat(found[1].replace("−", "-"));
          // The slider covers a fifth of the value either way, or 5 units if the value is zero.
          drag = { input, from, unit: found[2], span: Math.abs(from) / 5 || 5, stroke: ++strokes };
        }
        const places = Math.max(0, 3 - Math.ceil(Math.log10(drag.span)));
        const value = drag.from + drag.span * Number(field.value) / 100;
        input.value = (drag.unit ? value.toFixed(Math.min(places, 6)) + " " + drag.unit : String(Math.round(value)));
        changed(input, drag.stroke);
      }
    });
    form.addEventListener("click", async (event) => {
      const button = event.target.closest("[data-removes]");
      if (!button) return;
      // What was typed in a later item is in the text before the items move up.
      await settled();
      look("", "", 0, button.dataset.removes);
    });
    // A released slider has its picture drawn in full, and the field told. It need not have changed since it was taken.
    for (const ends of ["change", "pointerup", "focusout"]) {
      form.addEventListener(ends, (event) => {
        if (drag && event.target.dataset.drags) { event.target.value = 0; drag = null; look(); }
      });
    }
    // Enter in a field does not save the file.
    form.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && event.target.tagName === "INPUT") event.preventDefault();
    });
    const step = (by) => {
      // Text typed a moment ago becomes a step of its own.
      note(text.value);
      if (past[now + by] === undefined) return;
      now += by;
      text.value = past[now];
      edits(text.value);
      look();
    };
    form.querySelector("[data-undo]").addEventListener("click", () => step(-1));
    form.querySelector("[data-redo]").addEventListener("click", () => step(1));

    const printed = form.querySelector(".printed");
    const print = () => { printed.textContent = text.value; };
    window.addEventListener("beforeprint", () => {
      print();
      if (sheet.hidden) asText.open = true; else sheet.open = true;
    });
    print();

    const kept = takeKept();
    if (kept && kept.text === text.value) store(null);
    if (kept && kept.text !== text.value) {
      const file = text.value;
      text.value = kept.text;
      if (kept.tag === form.dataset.tag) say("Your unsaved edits are back; Undo returns to the file.", false);
      else sayBoth("Your unsaved edits are back. The file was changed meanwhile: yours stands in the form and the text, the other here. Save replaces the other, which is kept; Undo takes it.", file);
    }
    look();

    const save = async () => {
      await settled();
      const sent = text.value;
      const seen = form.dataset.tag ? { "if-match": '"' + form.dataset.tag + '"' } : { "if-none-match": "*" };
      const answer = await fetch("/do/file/" + name, { method: "PUT", headers: { ...ours, ...seen }, body: sent }).catch(() => null);
      if (!answer) return say("The desk is closed: nothing was saved. Your text stays here.", true);
      const tag = (answer.headers.get("etag") || "").replaceAll('"', "");
      if (answer.ok) {
        form.dataset.tag = tag;
        saved = sent;
        // Text typed while the save was under way is not saved yet.
        if (text.value === sent) store(null); else edits(text.value);
        const before = seen["if-match"] ? " What it was is kept in the hidden folder .coilwright-desk." : "";
        const told = await answer.text();
        return say("Saved." + (told ? " " + told : "") + (text.value === sent ? "" : " What you typed meanwhile is not.") + before, false);
      }
      if (answer.status === 412) {
        const other = await answer.text();
        form.dataset.tag = tag;
        past.splice(now, 0, other);
        now += 1;
        return sayBoth("The file was changed meanwhile. Yours stands in the form and the text, the other here. Save again replaces the other, which is kept; Undo takes it.", other);
      }
      const why = new DOMParser().parseFromString(await answer.text(), "text/html").body.textContent.trim();
      if (answer.status === 404) form.dataset.tag = "";
      say(why + (answer.status === 404 ? " Save again makes it anew." : ""), true);
    };
    // A question asks about the file as it is saved. With unsaved edits it is asked which is meant.
    document.addEventListener("click", (event) => {
      const link = event.target.closest(".kind a.ask, nav a");
      if (!link || text.value === saved || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      say("There are unsaved edits, and “" + link.textContent + "” asks about the file as it is saved. ", false);
      const place = document.getElementById("file-told");
      place.classList.add("unsaved");
      const button = (words, act) => {
        const made = document.createElement("button");
        made.type = "button";
        made.textContent = words;
        made.addEventListener("click", act);
        place.append(made, " ");
        return made;
      };
      button("Save and ask", async () => { await save(); if (text.value === saved) location.assign(link.href); }).focus();
      button("Ask about the saved file", () => location.assign(link.href));
    });
    let saving = false;
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      // A second click during a save is ignored.
      if (saving) return;
      saving = true;
      try { await save(); } finally { saving = false; }
    });
  }
  listen();
})();
