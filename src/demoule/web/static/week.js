// The Week and its day sheets: what is typed or ticked is kept here until the kitchen's memory has it.
const { $, Line, place, fill, clock } = globalThis.demoule;
const said = (words) => { $("kept").textContent = words; };
const offline = (cut, words) => {
  $("offline").hidden = !cut;
  if (cut) $("offline").querySelector("span").textContent = words;
};
const uncut = (id) => { const one = $(id); return one ? JSON.parse(one.dataset.words) : {}; };

const week = $("week");
if (week) weekAtHand(week);
function weekAtHand(week) {
  const words = uncut("week");
  const csrf = week.dataset.csrf;
  const chosen = () => new URLSearchParams(location.search).get("task") ?? "";
  let cut = false, saves = 0, asked = 0;
  const told = (state, wait = 0) => {
    cut = state === "cut" || !navigator.onLine;
    offline(cut, words.offline);
    if (state === "broke") said(fill(words.again, { seconds: Math.ceil(wait / 1000) }));
    if (state === "door") location.assign(`/sign-in?back=${encodeURIComponent(location.pathname)}`);
  };
  const keeper = new Line(told);
  // A try moves a job by a step: none may be dropped for a newer one, so they wait in a row.
  const row = [];
  let busy = false;
  const local = `demoule:week:${document.body.dataset.who}:${document.body.dataset.week}`;
  const remember = () => { try { row.length ? localStorage.setItem(local, JSON.stringify(row)) : localStorage.removeItem(local); } catch { /* a full store: the page still holds it */ } };

  function roving() {
    const tasks = [...week.querySelectorAll(".for-week .task")];
    const at = chosen();
    const one = tasks.find((task) => task.dataset.task === at) ?? tasks[0];
    for (const task of tasks) task.setAttribute("tabindex", task === one ? "0" : "-1");
  }
  function show(answer) {
    const held = document.activeElement?.closest?.("[data-task]");
    const inside = held?.closest(".for-week") ? ".for-week" : held?.closest(".for-day") ? ".for-day" : "";
    place(answer.regions);
    week.classList.toggle("trying", answer.tried);
    week.dataset.rev = answer.rev;
    roving();
    if (inside) [...week.querySelectorAll(`${inside} .task`)].find((task) => task.dataset.task === held.dataset.task)?.focus({ preventScroll: true });
  }
  async function go() {
    if (busy) return;
    busy = true;
    while (row.length) {
      said(words.trying);
      const [first] = row;
      const line = new Line(told);
      week.wake = () => line.wake?.();
      const found = await line.send(`${week.dataset.try}${location.search}`, new URLSearchParams({ ...first, csrf }).toString());
      if (!found) break;
      row.shift();
      remember();
      if (found.status >= 400) { said(`${found.told.error?.says ?? words.broke} ${found.told.error?.remedy ?? ""}`); row.length = 0; remember(); break; }
      if (!row.length) { show(found.told); said(fill(words.tried, { time: clock() })); }
    }
    busy = false;
  }
  function attempt(fields) {
    const last = row.at(-1);
    if (row.length > 1 && last.later && fields.later && last.job === fields.job && last.person === fields.person)
      last.later = String(Number(last.later) + Number(fields.later)); // steps that have not gone yet become one
    else row.push(fields);
    remember();
    go();
  }
  async function look(search, focus) {
    history.pushState(null, "", search || location.pathname);
    const turn = ++asked;
    const answer = await fetch(`${week.dataset.parts}${location.search}`, { headers: { accept: "application/json" } }).catch(() => null);
    if (turn !== asked) return;
    if (!answer?.ok) { location.reload(); return; }
    show(await answer.json());
    if (focus) { const spot = $(focus); spot?.scrollIntoView({ block: "nearest" }); }
    if (new URLSearchParams(location.search).get("task")) said(words.chosen);
  }
  addEventListener("popstate", () => look(location.search));

  week.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-task],a[data-lot],a[data-day],.way-of-one a[href='?']");
    if (!link || event.metaKey || event.ctrlKey) return;
    event.preventDefault();
    if (dragged) { dragged = false; return; }
    const search = new URLSearchParams(location.search);
    if (link.dataset.task) { search.set("task", link.dataset.task); search.delete("lot"); }
    else if (link.dataset.lot) { search.set("lot", link.dataset.lot); search.delete("task"); }
    else if (link.dataset.day) search.set("day", link.dataset.day);
    else { search.delete("task"); search.delete("lot"); }
    look(`?${search}`, link.closest(".lane") ? "" : link.dataset.task ? "task" : "").then(() => {
      if (link.closest(".for-week,.for-day") && link.dataset.task) [...week.querySelectorAll(`${link.closest(".for-week") ? ".for-week" : ".for-day"} .task`)].find((task) => task.dataset.task === link.dataset.task)?.focus({ preventScroll: true });
    });
  });

  week.addEventListener("keydown", (event) => {
    const task = event.target.closest?.(".task");
    const field = event.target.matches?.("input[data-time]") ? event.target : null;
    const steps = { ArrowLeft: -5, ArrowRight: 5 };
    if (task && task.dataset.task !== chosen() && /^Arrow|^Home|^End/.test(event.key)) {
      // Between blocks: the way of reading. Once one is chosen, the arrows move it.
      const tasks = [...task.closest(".for-week,.for-day").querySelectorAll(".task")];
      const rowOf = (one) => tasks.filter((other) => other.closest(".lane") === one.closest(".lane"));
      const lanes = [...new Set(tasks.map((one) => one.closest(".lane")))];
      const here = rowOf(task), at = here.indexOf(task), lane = lanes.indexOf(task.closest(".lane"));
      let next = null;
      if (event.key === "ArrowRight") next = here[at + 1];
      if (event.key === "ArrowLeft") next = here[at - 1];
      if (event.key === "Home") next = here[0];
      if (event.key === "End") next = here.at(-1);
      if (event.key === "ArrowDown" || event.key === "ArrowUp") {
        const other = lanes[lane + (event.key === "ArrowDown" ? 1 : -1)];
        const x = task.getBoundingClientRect().x;
        next = other && tasks.filter((one) => one.closest(".lane") === other).sort((a, b) => Math.abs(a.getBoundingClientRect().x - x) - Math.abs(b.getBoundingClientRect().x - x))[0];
      }
      if (next) { event.preventDefault(); for (const one of tasks) one.setAttribute("tabindex", one === next ? "0" : "-1"); next.focus(); }
      return;
    }
    if (task && task.dataset.task === chosen() && $("move")) {
      const form = $("move");
      if (steps[event.key]) {
        event.preventDefault();
        attempt({ job: task.dataset.task, later: String(steps[event.key] * (event.shiftKey ? 12 : 1)), person: form.elements.person.value });
      } else if (event.key === "ArrowUp" || event.key === "ArrowDown") {
        event.preventDefault();
        const people = form.elements.person, to = people.selectedIndex + (event.key === "ArrowDown" ? 1 : -1);
        if (people.options[to]) attempt({ job: task.dataset.task, later: "0", person: people.options[to].value });
      } else if (event.key === "Escape") {
        event.preventDefault();
        const search = new URLSearchParams(location.search);
        search.delete("task");
        look(`?${search}`);
      }
    }
    if (field && (event.key === "ArrowUp" || event.key === "ArrowDown")) {
      const found = field.value.match(/^(\d{1,2})[:h.](\d\d)$/);
      if (!found) return;
      event.preventDefault();
      const minutes = Math.max(0, Math.min(1435, 60 * Number(found[1]) + Number(found[2]) + (event.key === "ArrowUp" ? 5 : -5) * (event.shiftKey ? 12 : 1)));
      field.value = `${String(Math.floor(minutes / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;
    }
  });

  week.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.matches(".tries")) {
      event.preventDefault();
      const fields = Object.fromEntries(new FormData(form, event.submitter));
      delete fields.csrf;
      if (fields.fit) { delete fields.day; delete fields.time; delete fields.person; }
      attempt(fields);
    } else if (form.id === "keep-week" && !event.submitter?.hasAttribute("formaction")) {
      event.preventDefault();
      said(words.keeping);
      const key = `${week.dataset.key}-${Date.now()}-${++saves}`;
      const found = await keeper.send(week.dataset.keep, `${new URLSearchParams(new FormData(form))}&key=${encodeURIComponent(key)}`);
      if (!found) return;
      if (found.status === 409 && found.told.conflict) { place({ conflict: found.told.conflict }); $("conflict").scrollIntoView({ block: "center" }); said(""); return; }
      if (found.status >= 400) { said(`${found.told.error?.says ?? words.broke} ${found.told.error?.remedy ?? ""}`); return; }
      const time = clock(new Date(found.told.at));
      const answer = await fetch(`${week.dataset.parts}${location.search}`, { headers: { accept: "application/json" } }).catch(() => null);
      if (answer?.ok) show(await answer.json());
      said(fill(words.kept, { n: found.told.kept, time }));
    } else if (form.id === "keep-week") { row.length = 0; remember(); }
  });

  // By pointer: a block is drawn along the hours and between hands; letting go tries it there.
  let drag = null, dragged = false;
  const knots = () => JSON.parse(week.querySelector("[data-knots]").dataset.knots);
  const secondsAt = (share) => {
    const all = knots();
    for (let k = 1; k < all.length; k++) {
      const [a, x] = all[k - 1], [b, y] = all[k];
      if (share <= y) return a + ((b - a) * (share - x)) / (y - x);
    }
    return all.at(-1)[0];
  };
  week.addEventListener("pointerdown", (event) => {
    const task = event.target.closest?.(".for-week .task");
    if (!task || event.button !== 0 || !week.querySelector(".keys-hint")) return;
    const lane = task.closest(".lane").getBoundingClientRect();
    const block = task.querySelector(":scope > rect").getBoundingClientRect();
    drag = { task, lane, x: event.clientX, y: event.clientY, from: (100 * (block.x - lane.x)) / lane.width };
  });
  addEventListener("pointermove", (event) => {
    if (!drag) return;
    if (Math.hypot(event.clientX - drag.x, event.clientY - drag.y) > 6) {
      dragged = true;
      drag.task.setAttribute("transform", `translate(${event.clientX - drag.x} ${event.clientY - drag.y})`);
    }
  });
  addEventListener("pointerup", (event) => {
    if (!drag) return;
    const { task, lane, x, from } = drag;
    drag = null;
    if (!dragged) return;
    task.removeAttribute("transform");
    setTimeout(() => { dragged = false; });
    const before = secondsAt(from), after = secondsAt(from + (100 * (event.clientX - x)) / lane.width);
    const later = Math.round((after - before) / 300) * 5;
    const own = task.closest(".lane").dataset.person;
    const under = [...week.querySelectorAll(".for-week .lane[data-person]")].find((one) => { const box = one.getBoundingClientRect(); return event.clientY >= box.top && event.clientY <= box.bottom; });
    const person = under?.dataset.person ?? own;
    if (!later && person === own) return;
    const search = new URLSearchParams(location.search);
    search.set("task", task.dataset.task);
    search.delete("lot");
    history.pushState(null, "", `?${search}`);
    attempt({ job: task.dataset.task, later: String(later), person });
  });
  week.addEventListener("dragstart", (event) => { if (event.target.closest?.(".lane")) event.preventDefault(); });

  addEventListener("offline", () => told("cut"));
  addEventListener("online", () => { told("through"); week.wake?.(); keeper.wake?.(); });
  const now = week.querySelector("[data-now]");
  now?.addEventListener("change", () => { for (const one of week.querySelectorAll("[data-follows]")) one.value = now.value; });
  week.classList.toggle("trying", Boolean(week.querySelector(".trial")));
  roving();
  try { row.push(...JSON.parse(localStorage.getItem(local) ?? "[]")); } catch { localStorage.removeItem(local); }
  if (row.length) go();
}

const planning = $("planning");
if (planning) {
  const ask = async () => {
    const answer = await fetch(planning.dataset.state, { headers: { accept: "application/json" } }).catch(() => null);
    if (answer) {
      const found = await answer.json().catch(() => null);
      if (found?.regions) place(found.regions);
      if (found?.told) { $("progress").textContent = found.told; $("stop")?.remove(); return; }
      if (found?.state === "done") { location.assign(found.leads); return; }
      if (found?.state === "failed") { $("stop")?.remove(); return; }
    }
    setTimeout(ask, 700);
  };
  setTimeout(ask, 500);
}

const sheet = $("sheet");
if (sheet) daySheet(sheet);
function daySheet(sheet) {
  const words = JSON.parse(sheet.dataset.words);
  const local = `demoule:ticks:${sheet.dataset.book}`;
  const line = new Line((state, wait) => {
    const cut = state === "cut" || !navigator.onLine;
    offline(cut, fill(words.offline, { count: waiting().length }));
    if (state === "broke") said(fill(words.again, { seconds: Math.ceil(wait / 1000) }));
    if (state === "door") location.assign(`/sign-in?back=${encodeURIComponent(location.pathname)}`);
  });
  // The line of what is not yet in the kitchen's memory stands in this tablet's own store before anything is sent.
  let held = [];
  const waiting = () => { try { return JSON.parse(localStorage.getItem(local) ?? "[]"); } catch { return held; } };
  const write = (list) => { held = list; try { list.length ? localStorage.setItem(local, JSON.stringify(list)) : localStorage.removeItem(local); } catch { /* a full store: the page still holds it */ } };
  const typed = `demoule:typed:${sheet.dataset.book}:${sheet.dataset.day}`;
  const key = () => (globalThis.crypto?.randomUUID ? crypto.randomUUID() : `${Date.now()}-${Math.random().toString(36).slice(2)}`);
  let busy = false;

  async function send() {
    if (busy) return;
    busy = true;
    for (let list = waiting(); list.length; list = waiting()) {
      said(words.sending);
      const part = list.slice(0, 100);
      const found = await line.send(sheet.dataset.send, new URLSearchParams({ csrf: sheet.dataset.csrf, ticks: JSON.stringify(part) }).toString());
      if (!found) break;
      const keys = new Set(part.map((one) => one.key));
      if (found.status >= 400) {
        said(fill(words.refused, { says: `${found.told.error?.says ?? ""} ${found.told.error?.remedy ?? ""}` }));
        if (found.status === 403 || found.status === 401) break;
        // One that cannot be taken must not hold up the others: they go one by one, and it alone is let go.
        if (part.length === 1) write(waiting().filter((one) => !keys.has(one.key)));
        else { await alone(part); }
        continue;
      }
      write(waiting().filter((one) => !keys.has(one.key)));
      place(found.told.regions);
      said(fill(words.noted, { time: clock(new Date(found.told.at)) }));
      shown();
    }
    busy = false;
  }
  async function alone(part) {
    for (const one of part) {
      const found = await line.send(sheet.dataset.send, new URLSearchParams({ csrf: sheet.dataset.csrf, ticks: JSON.stringify([one]) }).toString());
      if (!found) return;
      write(waiting().filter((other) => other.key !== one.key));
      if (found.status < 400) place(found.told.regions);
    }
  }
  function note(one) {
    write([...waiting(), { key: key(), at: new Date().toISOString(), day: sheet.dataset.day, ...one }]);
    shown();
    send();
  }
  /** What waits here is shown as ticked: the tablet answers at once, the memory when it can. */
  function shown() {
    for (const one of waiting()) {
      if (one.kind === "withdrawn") { const was = sheet.querySelector(`button[data-key="${CSS.escape(one.replaces)}"]`); if (was) was.setAttribute("aria-pressed", "false"); continue; }
      for (const button of sheet.querySelectorAll("button.tick"))
        if (button.dataset.task === one.task && button.dataset.kind === one.kind && (button.dataset.what ?? "") === (one.note ?? "")) { button.setAttribute("aria-pressed", "true"); button.dataset.key = one.key; button.closest("li")?.classList.add("ticked"); }
    }
    if (!navigator.onLine) offline(true, fill(words.offline, { count: waiting().length }));
    for (const field of sheet.querySelectorAll("input.really")) { const kept = remembered()[field.name]; if (kept !== undefined && !field.value) field.value = kept; }
  }
  const remembered = () => { try { return JSON.parse(localStorage.getItem(typed) ?? "{}"); } catch { return {}; } };

  sheet.addEventListener("input", (event) => {
    if (!event.target.name) return;
    try { localStorage.setItem(typed, JSON.stringify({ ...remembered(), [event.target.name]: event.target.value })); } catch { /* a full store */ }
  });
  const field = (form, name) => form?.querySelector(`[name="${CSS.escape(name)}"]`);
  function begun(task) { return Boolean(sheet.querySelector(`[data-begun="${CSS.escape(task)}"]`)) || waiting().some((one) => one.task === task && one.kind === "start"); }

  sheet.addEventListener("submit", (event) => {
    const form = event.target, button = event.submitter;
    if (!form.matches("[data-note]")) return;
    event.preventDefault();
    const task = form.dataset.task, kind = form.dataset.note;
    if (button?.getAttribute("aria-pressed") === "true") { if (button.dataset.key) note({ kind: "withdrawn", task, replaces: button.dataset.key }); button.setAttribute("aria-pressed", "false"); button.closest("li")?.classList.remove("ticked"); return; }
    const at = new Date().toISOString();
    const value = (name) => field(form, name)?.value.trim() ?? "";
    if (kind !== "note" && kind !== "start" && !begun(task)) note({ kind: "start", task, start: at });
    if (kind === "start") note({ kind, task, start: at });
    else if (kind === "weight") note({ kind, task, note: form.dataset.what, really: value("really"), planned: form.dataset.planned });
    else if (kind === "end") {
      const core = value("core"), pieces = value("pieces");
      if (core) note({ kind: "temperature", task, core });
      if (pieces) note({ kind: "pieces", task, pieces });
      note({ kind, task, end: at });
    } else if (kind === "temperature") { if (value("core")) note({ kind, task, core: value("core") }); }
    else if (kind === "note") { if (!value("words")) return; note({ kind, task: value("about") || task, note: value("words") }); field(form, "words").value = ""; form.closest("details")?.removeAttribute("open"); }
    if (kind !== "note") { const left = remembered(); for (const one of form.querySelectorAll("input.really")) delete left[one.name]; try { localStorage.setItem(typed, JSON.stringify(left)); } catch { /* a full store */ } }
  });
  $("undo-tick")?.addEventListener("submit", (event) => {
    const list = waiting();
    if (!list.length) return; // the last one is in the memory: the form asks it to take it back
    event.preventDefault();
    const last = list.pop();
    write(list);
    for (const button of sheet.querySelectorAll(`button[data-key="${CSS.escape(last.key)}"]`)) { button.setAttribute("aria-pressed", "false"); button.closest("li")?.classList.remove("ticked"); }
    offline(!navigator.onLine, fill(words.offline, { count: list.length }));
  });
  addEventListener("beforeunload", (event) => { if (waiting().length && held.length && !localStorage.getItem(local)) event.preventDefault(); });
  addEventListener("offline", () => offline(true, fill(words.offline, { count: waiting().length })));
  addEventListener("online", () => { offline(false, ""); line.wake?.(); send(); });
  const tell = () => { const here = $("clock"); if (here) here.textContent = clock(); };
  tell();
  setInterval(tell, 10000);
  setInterval(async () => {
    if (busy || waiting().length || document.activeElement?.matches("input,textarea")) return;
    const answer = await fetch(sheet.dataset.parts, { headers: { accept: "application/json" } }).catch(() => null);
    if (answer?.ok) { place((await answer.json()).regions); shown(); }
  }, 30000);
  const left = waiting();
  shown();
  if (left.length) { said(fill(words.back, { count: left.length })); send(); }
}

const here = $("here-now");
if (here) setInterval(async () => {
  const answer = await fetch(here.dataset.parts, { headers: { accept: "application/json" } }).catch(() => null);
  if (answer?.ok) place((await answer.json()).regions);
}, 30000);
