// What the pages do beyond swapping parts: the page's own token on every request, progress, saving, undo, drafts.
"use strict";
(() => {
  const token = document.querySelector("meta[name=page-token]").content;
  const ours = { "x-desk-page": token };

  document.addEventListener("htmx:config:request", (event) => {
    event.detail.ctx.request.headers["x-desk-page"] = token;
  });
  document.addEventListener("htmx:confirm", (event) => {
    const asked = event.target.closest("[data-confirm]");
    if (asked && !window.confirm(asked.dataset.confirm)) event.preventDefault();
  });

  // Progress of a run, until it is done.
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

  document.addEventListener("click", async (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if ("print" in button.dataset) window.print();
    if ("copies" in button.dataset) {
      await navigator.clipboard.writeText(button.closest("p").querySelector("[data-copy]").textContent);
      button.textContent = "Copied";
    }
    if ("line" in button.dataset) showLine(Number(button.dataset.line));
  });

  // The address of the page holds the filled form, so that back, reload and a bookmark bring it back.
  document.addEventListener("htmx:after:swap", () => {
    const again = document.querySelector("[data-again]");
    if (again) history.replaceState(null, "", "/" + again.dataset.again);
  });

  // Taking files in.
  const told = document.getElementById("take-told");
  const take = async (files) => {
    if (!told) return;
    for (const file of files) {
      const line = document.createElement("p");
      const answer = await fetch("/do/file/" + encodeURIComponent(file.name), {
        method: "PUT", headers: { ...ours, "if-none-match": "*" }, body: file,
      }).catch(() => null);
      const why = !answer ? "the desk is closed" : answer.ok ? "" :
        answer.status === 412 ? "there is a file of that name" : new DOMParser().parseFromString(await answer.text(), "text/html").body.textContent.trim();
      line.textContent = file.name + ": " + (why || "taken in");
      told.append(line);
    }
    const link = document.createElement("a");
    link.href = "/";
    link.textContent = "Show the folder";
    told.append(link);
  };
  const chooser = document.getElementById("take");
  if (chooser) {
    chooser.addEventListener("change", () => take(chooser.files));
    document.addEventListener("dragover", (event) => { event.preventDefault(); document.body.classList.add("dropping"); });
    document.addEventListener("dragleave", () => document.body.classList.remove("dropping"));
    document.addEventListener("drop", (event) => {
      event.preventDefault();
      document.body.classList.remove("dropping");
      take(event.dataTransfer.files);
    });
  }

  // The text of a file: checked while it is typed, kept as a draft, saved over what was seen only.
  const form = document.querySelector("form[data-file]");
  const text = form && form.querySelector("textarea");
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
  const showLine = (line) => {
    const lines = text.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, it) => sum + it.length + 1, 0);
    text.focus();
    text.setSelectionRange(start, start + (lines[line - 1] || "").length);
    text.scrollTop = Math.max(0, (line - 5) * parseFloat(getComputedStyle(text).lineHeight));
  };
  if (form) {
    const name = form.dataset.file;
    const draft = "draft " + name;
    const saved = text.value;
    let checking = null;
    let waiting = null;
    const check = async () => {
      if (checking) checking.abort();
      checking = new AbortController();
      try {
        const answer = await fetch("/do/check/" + name, { method: "POST", headers: { ...ours, "content-type": "text/plain" }, body: text.value, signal: checking.signal });
        if (answer.ok) document.getElementById("checked").innerHTML = await answer.text();
      } catch (_) { /* a newer text is being checked */ }
    };
    const changed = () => {
      try { localStorage.setItem(draft, JSON.stringify({ tag: form.dataset.tag, text: text.value })); } catch (_) { /* no room */ }
      clearTimeout(waiting);
      waiting = setTimeout(check, 200);
    };
    text.addEventListener("input", changed);
    const kept = JSON.parse(localStorage.getItem(draft) || "null");
    if (kept && kept.text !== saved) {
      text.value = kept.text;
      if (kept.tag === form.dataset.tag) say("Your unsaved edits are back; Undo returns to the file.", false);
      else sayBoth("Your unsaved edits are back. The file was changed meanwhile: yours stands above, the other below. Save replaces it, Undo takes it.", saved);
      check();
    }
    form.querySelector("[data-undo]").addEventListener("click", () => {
      if (document.execCommand && text.value !== saved && document.queryCommandEnabled && document.queryCommandEnabled("undo")) {
        text.focus();
        document.execCommand("undo");
      } else {
        text.value = saved;
      }
      changed();
    });
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const answer = await fetch("/do/file/" + name, { method: "PUT", headers: { ...ours, "if-match": '"' + form.dataset.tag + '"' }, body: text.value }).catch(() => null);
      if (!answer) return say("The desk is closed: nothing was saved. Your text stays here.", true);
      if (answer.ok) {
        form.dataset.tag = answer.headers.get("etag").replaceAll('"', "");
        localStorage.removeItem(draft);
        return say("Saved. What it was is kept in the folder .coilwright-desk.", false);
      }
      if (answer.status === 412) {
        const other = await answer.text();
        form.dataset.tag = answer.headers.get("etag").replaceAll('"', "");
        return sayBoth("The file was changed meanwhile. Yours stands above, the other below; Save again replaces it.", other);
      }
      say(new DOMParser().parseFromString(await answer.text(), "text/html").body.textContent.trim(), true);
    });
  }
  listen();
})();
