// The form holds the truth: it is posted whole, the newest wins, and what comes back goes into places beside the fields.
const $ = (id) => document.getElementById(id);
document.documentElement.classList.add("js");
if (!document.documentElement.dataset.theme) {
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const sky = () => (document.cookie = `sky=${dark.matches ? "dark" : "light"}; path=/; max-age=31536000; SameSite=Strict`);
  sky();
  dark.addEventListener("change", () => { sky(); location.reload(); });
}
const clock = (at = new Date()) => at.toTimeString().slice(0, 5);
const fill = (words, values) => words.replace(/\{(\w+)\}/g, (_, key) => values[key] ?? "");

/** Mark places whose content is still being computed: the old one stays put and says so. */
function awaits(ids, still = true) {
  for (const id of ids) {
    const spot = $(id);
    spot?.classList.toggle("later", still && spot.childElementCount > 0);
    if (still) spot?.setAttribute("aria-busy", "true"); else spot?.removeAttribute("aria-busy");
  }
}

/** Put answers into their places; what has the focus keeps it, and slips that were opened stay open. */
function place(regions) {
  for (const [id, html] of Object.entries(regions)) {
    const spot = $(id);
    awaits([id], false);
    if (!spot || spot.dataset.last === html) continue;
    const held = spot.contains(document.activeElement) ? document.activeElement : null;
    const way = held && (held.id ? `#${CSS.escape(held.id)}` : held.getAttribute("href") ? `[href="${CSS.escape(held.getAttribute("href"))}"]` : "");
    const open = [...spot.querySelectorAll("details")].map((one) => one.open);
    const figures = new Map([...spot.querySelectorAll(".figure[data-f]")].map((one) => [one.dataset.f, one]));
    spot.innerHTML = html;
    spot.dataset.last = html;
    spot.querySelectorAll("details").forEach((one, place) => { if (open[place]) one.open = true; });
    for (const one of spot.querySelectorAll(".figure.later")) {
      const old = figures.get(one.dataset.f);
      if (old) { old.classList.add("later"); old.setAttribute("aria-busy", "true"); one.replaceWith(old); }
    }
    if (way) spot.querySelector(way)?.focus();
  }
}

/** Post, again and again with growing waits until it is taken; a newer post makes an older one give up. */
class Line {
  constructor(told) { this.told = told; this.turn = 0; }
  async send(url, body, accept = "application/json") {
    const turn = ++this.turn;
    this.stop?.abort();
    for (let wait = 500; ; wait = Math.min(wait * 2, 8000)) {
      const stop = (this.stop = new AbortController());
      const late = setTimeout(() => stop.abort(), 40000);
      try {
        const answer = await fetch(url, { method: "POST", body: new URLSearchParams(body), signal: stop.signal, headers: { accept }, redirect: "manual" });
        if (turn !== this.turn) return null;
        if (answer.type === "opaqueredirect") { this.told("door"); return null; }
        if (answer.status === 204) return null;
        if (answer.status < 500 && answer.status !== 429) { this.told("through"); return { status: answer.status, told: await answer.json() }; }
        this.told("broke", wait);
      } catch (error) {
        if (turn !== this.turn) return null;
        this.told("cut", wait);
      } finally { clearTimeout(late); }
      await new Promise((done) => { this.wake = done; setTimeout(done, wait); });
      if (turn !== this.turn) return null;
    }
  }
}

globalThis.demoule = { $, Line, place, fill, clock }; // for the scripts of single rooms

const recipe = $("recipe");
if (recipe) bench(recipe);
function bench(form) {
  const words = JSON.parse(form.dataset.words);
  const slug = document.body.dataset.slug;
  const local = `demoule:${document.body.dataset.who}:${slug}`;
  const csrf = form.elements.csrf.value;
  const past = [];
  let known = clock(), dirty = false, keeping = false, flying = false, soon = 0, slow = 0, saves = 0;
  const kept = (text) => { $("kept").textContent = text; };
  const body = () => new URLSearchParams(new FormData(form)).toString();
  const remember = () => { try { localStorage.setItem(local, JSON.stringify({ body: body(), at: Date.now() })); } catch { /* a full store: the page still holds it */ } };
  const forget = () => localStorage.removeItem(local);
  const small = matchMedia("(max-width: 620px)");
  $("view").value = small.matches ? "small" : "wide";
  let last = body();
  small.addEventListener("change", () => { $("view").value = small.matches ? "small" : "wide"; ask(); });

  function told(state, wait = 0) {
    const cut = state === "cut" || !navigator.onLine;
    $("offline").hidden = !cut;
    if (cut) $("offline").querySelector("span").textContent = fill(words.offline, { time: known });
    document.body.classList.toggle("stale", cut || state === "broke");
    const strip = $("strip");
    if (strip) strip.dataset.stale = words.stale;
    if (state === "broke") kept(fill(words.again, { seconds: Math.ceil(wait / 1000) }));
    if (state === "door") location.assign(`/sign-in?back=${encodeURIComponent(location.pathname)}`);
  }
  const line = new Line(told);
  const keeper = new Line(told);

  async function ask(more = {}, from = null) {
    const before = body();
    const sent = new URLSearchParams(from ?? before);
    sent.set("csrf", csrf);
    for (const [key, value] of Object.entries(more)) sent.set(key, value);
    dirty = true;
    document.body.classList.add("waiting");
    clearTimeout(slow);
    slow = setTimeout(() => kept(words.soon), 2000);
    flying = true;
    const found = await line.send(form.dataset.figures, sent.toString());
    if (!found) return;
    flying = false;
    clearTimeout(slow);
    document.body.classList.remove("waiting");
    if (found.status >= 400) { kept(found.told.error?.says ?? words.broke); return; }
    const answer = found.told;
    if (answer.form) {
      if (!from) past.push(last);
      $("form").innerHTML = answer.form;
      $("text").value = answer.text;
      mend();
    }
    place(answer.regions);
    awaits(answer.later);
    notes(answer.notes);
    known = clock(new Date(answer.at));
    const noted = fill(words.noted, { time: known });
    kept(noted);
    if (!from && !answer.form && before !== last) { past.push(last); if (past.length > 200) past.shift(); }
    if (answer.later.length && (answer.form || body() === before)) rest(body(), noted);
    if (body() === before || answer.form) { last = body(); dirty = false; forget(); }
    mend();
    return answer;
  }
  /** The second half of an answer: hours, findings, cost. An edit meanwhile makes it give up. */
  async function rest(what, noted) {
    slow = setTimeout(() => kept(words.soon), 2000);
    const found = await line.send(form.dataset.figures, `${what}&rest=1`);
    if (!found) return;
    clearTimeout(slow);
    if (found.status >= 400) { kept(found.told.error?.says ?? words.broke); return; }
    place(found.told.regions);
    notes(found.told.notes);
    if ($("kept").textContent === words.soon) kept(noted);
  }
  function mend() { const undo = $("undo"); if (undo) undo.disabled = !past.length && body() === last; }
  function notes(told) {
    for (const one of document.querySelectorAll('[id^="n:"]')) {
      const [kind, text] = told[one.id.slice(2)] ?? ["", ""];
      if (one.textContent !== text) one.textContent = text;
      if (one.tagName === "SMALL") one.className = `beside ${kind}`;
      const field = $(`f:${one.id.slice(2)}`);
      if (field) field.setAttribute("aria-invalid", kind === "wrong");
    }
  }
  // A rest of 30 ms joins what is pressed at once; while an answer is under way, keys that follow wait for each other.
  const later = () => { clearTimeout(soon); soon = setTimeout(ask, flying ? 120 : 30); };

  const bare = /^[-−+]?[\d\s.,–/½¼¾⅓⅔]*$/;
  form.addEventListener("input", (event) => {
    if (!event.target.name || event.target.name === "why") return;
    event.target.parentNode.querySelector(".unit")?.toggleAttribute("hidden", !bare.test(event.target.value));
    dirty = true;
    remember();
    later();
    mend();
  });
  form.addEventListener("focusin", (event) => { if (event.target.name) event.target.dataset.was = event.target.value; });
  form.addEventListener("keydown", (event) => {
    const field = event.target;
    if (field.tagName !== "INPUT") return;
    if (event.key === "Escape" && field.name && field.dataset.was !== undefined) { field.value = field.dataset.was; remember(); later(); }
    if (event.key === "Enter" && field.dataset.add !== undefined) { event.preventDefault(); field.parentNode.querySelector("button").click(); return; }
    if (event.altKey && (event.key === "ArrowUp" || event.key === "ArrowDown") && /^[-−]?\d+([.,]\d+)?$/.test(field.value)) {
      event.preventDefault();
      const step = (event.shiftKey ? 10 : 1) * (event.key === "ArrowUp" ? 1 : -1);
      field.value = String(Math.round((parseFloat(field.value.replace(",", ".")) + step) * 1000) / 1000);
      remember(); later();
      return;
    }
    const way = event.key === "Enter" || event.key === "ArrowDown" ? 1 : event.key === "ArrowUp" ? -1 : 0;
    if (!way || event.altKey) return;
    event.preventDefault();
    const fields = [...form.querySelectorAll(".typed input")].filter((one) => one.offsetParent);
    const next = fields[fields.indexOf(field) + way];
    if (next) { next.focus(); next.select(); }
  });
  form.addEventListener("paste", (event) => {
    const text = event.clipboardData?.getData("text") ?? "";
    const field = event.target;
    if (field.dataset?.add?.endsWith("/weigh") && text.includes("\n")) { event.preventDefault(); ask({ act: "paste", at: field.dataset.add, words: text }); }
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-act]");
    if (!button) return;
    const act = { act: button.dataset.act, at: button.dataset.at ?? "" };
    if (act.act === "try") act.words = button.dataset.changes;
    else if (act.act === "paste") { act.at = $("paste-at").value; act.words = $("paste-words").value; }
    else if (act.act !== "remove") {
      const field = button.parentNode.querySelector("input");
      if (!field.value.trim()) { field.focus(); return; }
      const split = field.value.match(/^(.*?)[\s:,]+(\d[\d.,]*\s*\S{0,8}|half|all)$/) ?? field.value.match(/^()(.*)$/);
      act.what = split[1] || split[2];
      act.amount = split[1] ? split[2] : "";
      act.words = field.value;
      const lead = field.value.match(/^(\d[\d.,]*\s*(?:g|kg|ml|l|oz|lb|%|leaves|pieces)?)\s+(\D.*)$/);
      if (act.act === "add line" && lead) { act.what = lead[2]; act.amount = lead[1]; }
      field.value = "";
    }
    ask(act);
  });
  form.addEventListener("click", (event) => {
    if (event.target.id === "undo") {
      clearTimeout(soon);
      const pending = body() !== last;
      const back = pending ? last : past.pop();
      if (back) ask({ whole: "1" }, back).then((answer) => { if (!answer && !pending) past.push(back); mend(); });
    }
    const link = event.target.closest("#plate a");
    if (link) {
      event.preventDefault();
      const key = new URL(link.getAttribute("href"), location.href).searchParams.get("layer");
      $("layer").value = key;
      ask().then((answer) => answer && unfold(answer.open));
    }
  });
  function unfold(name) {
    for (const one of form.querySelectorAll(".component")) if (one.dataset.component === name) { one.open = true; one.querySelector("input")?.focus({ preventScroll: true }); }
  }
  form.addEventListener("click", (event) => {
    const summary = event.target.closest(".component > summary");
    const name = summary?.parentNode.dataset.component;
    if (name && !summary.parentNode.open && $("layer").value !== name) { $("layer").value = name; later(); }
  });
  form.addEventListener("submit", async (event) => {
    if (event.submitter?.id === "as-kept") { dirty = false; forget(); return; }
    event.preventDefault();
    if (keeping) return;
    keeping = true;
    kept(words.keeping);
    clearTimeout(soon);
    const text = body();
    remember();
    const key = `${form.dataset.key}-${Date.now()}-${++saves}`;
    const found = await keeper.send(form.dataset.keep, `${text}&key=${encodeURIComponent(key)}`);
    keeping = false;
    if (!found) return;
    if (found.status === 409) { place({ conflict: found.told.conflict }); $("conflict").scrollIntoView({ block: "center" }); kept(""); dirty = false; forget(); return; }
    if (found.status >= 400) { kept(found.told.error?.says ?? words.broke); return; }
    $("rev").value = found.told.rev;
    place({ conflict: "" });
    const time = clock(new Date(found.told.at));
    if (form.elements.why) form.elements.why.value = "";
    await ask();
    kept(fill(words.version, { n: found.told.kept, time }));
  });
  addEventListener("beforeunload", (event) => { if (dirty) { remember(); event.preventDefault(); } });
  addEventListener("offline", () => told("cut"));
  addEventListener("online", () => { told("through"); line.wake?.(); keeper.wake?.(); });

  if (form.dataset.awaits) {
    awaits(form.dataset.awaits.split(" "));
    $("findings").classList.add("later");
    rest(body(), "");
  }
  if (form.hasAttribute("data-still")) return;
  const left = localStorage.getItem(local);
  if (left) {
    try {
      const { body: typed } = JSON.parse(left);
      ask({ whole: "1" }, typed).then((answer) => { if (answer) { kept(words.restored); last = body(); } });
    } catch { forget(); }
  }
}

const search = $("words");
if (search && $("list")) {
  let soon = 0, turn = 0;
  const get = async (url, id) => {
    const mine = ++turn;
    const answer = await fetch(url).catch(() => null);
    if (answer?.ok && mine === turn) place({ [id]: await answer.text() });
  };
  const look = () => get(`/larder/list?${new URLSearchParams({ words: search.value, within: $("within").value })}`, "list");
  search.addEventListener("input", () => { clearTimeout(soon); soon = setTimeout(look, 120); });
  $("within").addEventListener("change", look);
  $("list").addEventListener("click", (event) => {
    const link = event.target.closest("a[data-item]");
    if (!link || event.metaKey || event.ctrlKey) return;
    event.preventDefault();
    for (const row of document.querySelectorAll(".shelf tr")) row.classList.toggle("chosen", row.contains(link));
    get(`/larder/item?${new URLSearchParams({ item: link.dataset.item })}`, "item");
  });
}

const question = $("question");
if (question) {
  const tight = matchMedia("(max-width: 1080px)");
  const fold = () => { $("all-asked").open = !tight.matches; };
  tight.addEventListener("change", fold);
  fold();
  let soon = 0, turn = 0;
  question.addEventListener("input", () => {
    clearTimeout(soon);
    soon = setTimeout(async () => {
      const mine = ++turn;
      const answer = await fetch(`${question.dataset.answer}?${new URLSearchParams(new FormData(question))}`).catch(() => null);
      if (answer?.ok && mine === turn) place({ answer: await answer.text() });
    }, 150);
  });
  question.addEventListener("submit", (event) => event.preventDefault());
}

if ($("cold")) {
  const scrub = () => {
    const slider = $("scrub");
    const frames = JSON.parse(slider.dataset.frames), slim = JSON.parse(slider.dataset.slim);
    const now = frames[slider.value];
    $("moment").textContent = `${now.room}, ${now.time}`;
    $("skin-now").textContent = now.skin;
    $("core-now").textContent = now.core;
    slider.setAttribute("aria-valuetext", `${now.room}, ${now.time}, ${now.core}`);
    for (const still of document.querySelectorAll(".still")) still.hidden = still.dataset.still !== `${now.stage}-${now.still}`;
    document.querySelectorAll(".cursor").forEach((one, place) => one.setAttribute("transform", `translate(${place ? slim[Math.min(slider.value, slim.length - 1)] : now.x} 0)`));
  };
  document.addEventListener("input", (event) => { if (event.target.id === "scrub") scrub(); });
  const form = $("what-if");
  const line = new Line(() => {});
  const narrow = matchMedia("(max-width: 620px)");
  let soon = 0, rest = 0;
  const attempt = async (moving) => {
    const sent = new URLSearchParams(new FormData(form));
    if (moving) sent.set("moving", "1");
    sent.set("view", narrow.matches ? "small" : "wide");
    const found = await line.send(form.dataset.try, sent.toString());
    if (!found) return;
    $("wrong").textContent = found.status >= 400 ? `${found.told.error.says} ${found.told.error.remedy}` : "";
    if (found.status >= 400) return;
    const at = $("scrub").value;
    place(found.told.regions);
    const slider = $("scrub");
    slider.dataset.frames = JSON.stringify(found.told.frames);
    if (found.told.slim.length) slider.dataset.slim = JSON.stringify(found.told.slim);
    slider.value = at;
    scrub();
    document.querySelector(".at-hand").classList.toggle("before", moving);
  };
  const tell = () => {
    let tried = false;
    for (const lever of form.querySelectorAll("[data-for]")) {
      $(lever.dataset.out).querySelector("b").textContent = lever.value.replace("-", "−").replace(".", document.documentElement.lang === "fr" ? "," : ".");
      const field = form.elements[lever.dataset.for];
      const base = form.elements[lever.dataset.for.replace("f:", "b:")];
      const same = parseFloat(base.value) === parseFloat(lever.value);
      field.value = same ? base.value : `${lever.value} ${lever.dataset.unit}`;
      tried ||= !same;
    }
    $("trying").hidden = !tried;
    clearTimeout(soon);
    clearTimeout(rest);
    soon = setTimeout(attempt, 40, true);
    rest = setTimeout(attempt, 500, false);
  };
  form.addEventListener("input", tell);
  form.addEventListener("reset", () => setTimeout(tell));

  const learn = $("learn");
  if (learn) {
    const send = async (act) => {
      const body = new FormData(learn);
      body.set("act", act);
      learn.classList.add("busy");
      try {
        const answer = await fetch(learn.action, { method: "POST", body, headers: { accept: "application/json" } });
        const told = await answer.json();
        if (told.regions) place(told.regions);
        else $("learned").textContent = `${told.error.says} ${told.error.remedy}`;
      } catch { $("offline").hidden = false; }
      learn.classList.remove("busy");
      $("learned").scrollIntoView({ block: "nearest" });
    };
    learn.addEventListener("submit", (event) => { event.preventDefault(); send(event.submitter?.value || "look"); });
    $("log-file").addEventListener("change", () => { if ($("log-file").files.length) send("look"); });
    addEventListener("dragover", (event) => { event.preventDefault(); $("teach").open = true; learn.classList.add("over"); });
    addEventListener("dragleave", (event) => { if (!event.relatedTarget) learn.classList.remove("over"); });
    addEventListener("drop", (event) => {
      event.preventDefault();
      learn.classList.remove("over");
      if (!event.dataTransfer.files.length) return;
      $("log-file").files = event.dataTransfer.files;
      send("look");
    });
  }
}

// Pages are fetched when they come into view: a kitchen's network is thin.
const seen = new IntersectionObserver((told) => {
  for (const { isIntersecting, target } of told) if (isIntersecting) { target.src = target.dataset.src; seen.unobserve(target); }
}, { threshold: 0.4 });
document.querySelectorAll("img[data-src]").forEach((one) => seen.observe(one));
addEventListener("beforeprint", () => document.querySelectorAll("img[data-src]").forEach((one) => (one.src = one.dataset.src)));

addEventListener("keydown", (event) => {
  if (event.key !== "/" || event.ctrlKey || /INPUT|TEXTAREA|SELECT/.test(document.activeElement.tagName)) return;
  event.preventDefault();
  if (search) search.focus(); else location.assign("/larder");
});
