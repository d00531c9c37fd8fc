// Counts on a phone. Presses are kept on the phone with their times until they are sent; nothing about the
// worker is. A session carries a key made here, so that sending it twice makes one record.
(() => {
  const root = document.querySelector("[data-counter]");
  if (!root || !keeps()) return;
  const KEPT = `thenar-counting-${root.dataset.area}`;
  const LONG = 15 * 60_000; // after so long without a press, the last one may have been the end
  const [SOONEST, LATEST] = [2_000, 5 * 60_000]; // until what failed is tried again: doubled each time
  const find = (name) => root.querySelector(`[data-${name}]`);
  const all = (name) => [...root.querySelectorAll(`[data-${name}]`)];
  let kept = load();
  let sending = false;
  let wait = SOONEST;
  let nextTry;

  function keeps() {
    try {
      localStorage.setItem("thenar-try", "1");
      localStorage.removeItem("thenar-try");
      return true;
    } catch {
      return false; // the plain form stays
    }
  }

  function load() {
    return JSON.parse(localStorage.getItem(KEPT) ?? "null") ?? { running: null, waiting: [] };
  }

  function keep() {
    localStorage.setItem(KEPT, JSON.stringify(kept));
    show();
  }

  function say(words) {
    const said = find("said");
    if (said.textContent !== words) said.textContent = words; // the same words are not spoken twice
  }

  // ---- A session ------------------------------------------------------------------------------------------

  function newKey() {
    return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function begin(form) {
    const given = new FormData(form);
    const watched = given.getAll("watched");
    if (!watched.length) return say("Tick what you watch for.");
    kept.running = {
      key: newKey(), who: root.dataset.who, role: given.get("role"), part: given.get("part"),
      what: `${form.elements.role.selectedOptions[0].text}, ${given.get("part")}`,
      watched, started: Date.now(), presses: [],
    };
    say("");
    keep();
  }

  function since(presses, on, off) {
    const last = presses.findLast((press) => press.kind === on || press.kind === off);
    return last?.kind === on ? last.at : null;
  }
  const waterSince = (session) => since(session.presses, "wet_start", "wet_stop");
  const glovesSince = (session) => since(session.presses, "gloves_on", "gloves_off");

  function press(what) {
    const session = kept.running;
    const add = {
      wash: { kind: "wash" },
      rub: { kind: "rub" },
      cream: { kind: "cream" },
      water: { kind: waterSince(session) === null ? "wet_start" : "wet_stop" },
      gloves: { kind: "gloves_on", skin_wet: false },
      "gloves-wet": { kind: "gloves_on", skin_wet: true },
      "gloves-off": { kind: "gloves_off" },
    }[what];
    session.presses.push({ ...add, at: now(session) });
    navigator.vibrate?.(15);
    keep();
  }

  // The phone's clock may be set while counting; time here never runs backwards.
  function now(session) {
    return Math.max(Date.now(), session.started, session.presses.at(-1)?.at ?? 0);
  }

  function finish(at) {
    const session = kept.running;
    const ended = Math.max(at, session.started + 1000);
    if (waterSince(session) !== null) session.presses.push({ kind: "wet_stop", at: ended });
    if (glovesSince(session) !== null) session.presses.push({ kind: "gloves_off", at: ended });
    kept.waiting.push({ ...session, ended, confirmed: false });
    kept.running = null;
    keep();
    send();
  }

  // ---- Sending --------------------------------------------------------------------------------------------

  async function send() {
    const session = kept.waiting.find((one) => !one.refused);
    if (!session || sending) return;
    sending = true;
    try {
      await sendOne(session);
    } catch {
      say("No connection. The count is kept on this phone, and is sent when there is one.");
      sending = false;
      tryLater();
      return;
    }
    sending = false;
    wait = SOONEST;
    send();
  }

  async function sendOne(session) {
    const asked = await fetch(root.dataset.sync, { redirect: "manual", cache: "no-store" });
    if (asked.type === "opaqueredirect") return hold(session.key, { signedOut: true, what: "Sign in, then it is sent." });
    if (!asked.ok) throw new Error(asked.status);
    const { token, who } = await asked.json();
    if (session.who !== who) return hold(session.key, { other: who, what: "Somebody else was signed in when this was counted." });
    const { key, role, part, started, ended, watched, presses, confirmed } = session;
    const answer = await fetch(root.dataset.sync, {
      method: "POST", redirect: "manual",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token },
      body: JSON.stringify({ key, role, part, started, ended, watched, presses, confirmed }),
    });
    if (answer.ok) {
      change((waiting) => waiting.filter((one) => one.key !== key));
      return say("Sent and recorded.");
    }
    if (![409, 422].includes(answer.status)) throw new Error(answer.status);
    const refused = await answer.json();
    hold(key, { what: `${refused.what} ${refused.todo}`, askedBack: refused.asked_back });
  }

  // Another tab may have changed what is kept meanwhile.
  function change(how) {
    kept = load();
    kept.waiting = how(kept.waiting);
    keep();
  }

  function hold(key, refused) {
    change((waiting) => waiting.map((one) => (one.key === key ? { ...one, refused } : one)));
  }

  function again(key, changes) {
    change((waiting) => waiting.map((one) => (one.key === key ? { ...one, ...changes, refused: undefined } : one)));
    send();
  }

  // Browsers do not always tell that a connection is back, so it is also tried.
  function tryLater() {
    clearTimeout(nextTry);
    nextTry = setTimeout(send, wait);
    wait = Math.min(2 * wait, LATEST);
  }

  // What only waited for a connection or for signing in is tried again by itself.
  function tryAgain() {
    if (document.hidden || sending) return;
    wait = SOONEST;
    if (kept.waiting.some((one) => one.refused?.signedOut)) {
      change((waiting) => waiting.map((one) => (one.refused?.signedOut ? { ...one, refused: undefined } : one)));
    }
    send();
  }

  // ---- Showing --------------------------------------------------------------------------------------------

  function show() {
    const session = kept.running;
    find("begin").hidden = session !== null;
    find("running").hidden = session === null;
    const plain = document.querySelector("[data-plain]");
    if (plain && !plain.querySelector(".error-summary")) plain.hidden = true;
    showWaiting();
    if (session) showSession(session);
  }

  function showSession(session) {
    const wet = waterSince(session) !== null;
    const gloved = glovesSince(session) !== null;
    const number = (test) => session.presses.filter(test).length;
    const counts = {
      wash: number((one) => one.kind === "wash"), rub: number((one) => one.kind === "rub"),
      cream: number((one) => one.kind === "cream"), water: number((one) => one.kind === "wet_start"),
      gloves: number((one) => one.kind === "gloves_on" && !one.skin_wet),
      "gloves-wet": number((one) => one.skin_wet === true),
    };
    for (const each of all("count")) each.textContent = counts[each.dataset.count];
    const closed = { water: gloved, "gloves-off": !gloved };
    const last = session.presses.at(-1);
    const lastKey = last && keyOf(last);
    for (const key of all("press")) {
      key.hidden = !session.watched.includes(key.dataset.watched);
      key.disabled = closed[key.dataset.press] ?? (gloved || wet);
      key.classList.toggle("was-pressed", key.dataset.press === lastKey);
    }
    root.querySelector('[data-press="water"]').classList.toggle("is-running", wet);
    root.querySelector('[data-press="gloves-off"]').classList.toggle("is-running", gloved);
    find("undo").disabled = !last;
    find("hint").textContent = wet ? "Hands are in water. Press when it stops."
      : gloved ? "Gloves are on. Press when they come off." : "";
    find("what").textContent = session.what;
    tick();
  }

  function keyOf(last) {
    if (last.kind.startsWith("wet")) return "water";
    if (last.kind === "gloves_on") return last.skin_wet ? "gloves-wet" : "gloves";
    return last.kind.replace("_", "-");
  }

  function clock(milliseconds) {
    const seconds = Math.floor(milliseconds / 1000);
    const two = (number) => String(number).padStart(2, "0");
    const hours = Math.floor(seconds / 3600);
    return `${hours ? `${hours}:${two(Math.floor(seconds / 60) % 60)}` : Math.floor(seconds / 60)}:${two(seconds % 60)}`;
  }

  function tick() {
    const session = kept.running;
    if (!session) return;
    const at = now(session);
    const [wet, gloved] = [waterSince(session), glovesSince(session)];
    find("clock").textContent = clock(at - session.started);
    find("water").textContent = wet === null ? "Water starts" : `Water stops ${clock(at - wet)}`;
    find("gloves").textContent = gloved === null ? "Gloves off" : `Gloves off ${clock(at - gloved)}`;
    const last = session.presses.at(-1)?.at;
    const then = find("finish-then");
    then.hidden = !(last && at - last > LONG);
    then.textContent = last ? `Finish at the last press, ${new Date(last).toTimeString().slice(0, 5)}` : "";
  }

  function showWaiting() {
    const place = find("waiting");
    place.replaceChildren(...kept.waiting.map(waits));
  }

  function waits(session) {
    const box = element("div", "notice counter-waits");
    const minutes = Math.max(1, Math.round((session.ended - session.started) / 60_000));
    box.append(element("p", "", `${session.what}: ${minutes} min, ${session.presses.length} presses. ${session.refused?.what ?? "Waits to be sent."}`));
    const buttons = element("div", "buttons");
    const { refused } = session;
    if (refused?.signedOut) buttons.append(link("Sign in", root.dataset.signIn));
    else if (refused?.other) buttons.append(button("Send it as mine", () => again(session.key, { who: refused.other })));
    else if (refused?.askedBack) buttons.append(button("It is right, send it", () => again(session.key, { confirmed: true })));
    else buttons.append(button("Send now", () => again(session.key, {})));
    if (refused && !refused.signedOut) buttons.append(button("Throw it away", () => throwAway(session.key)));
    box.append(buttons);
    return box;
  }

  function throwAway(key) {
    if (!confirm("Throw this count away? It can't be brought back.")) return;
    change((waiting) => waiting.filter((one) => one.key !== key));
  }

  function element(name, classes, words = "") {
    const made = document.createElement(name);
    if (classes) made.className = classes;
    made.textContent = words;
    return made;
  }

  function button(words, act) {
    const made = element("button", "", words);
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  }

  function link(words, address) {
    const made = element("a", "button", words);
    made.href = address;
    return made;
  }

  // ---- Without a connection -------------------------------------------------------------------------------

  async function keepPage() {
    if (!navigator.serviceWorker) return;
    try {
      const kept = await navigator.serviceWorker.register(root.dataset.worker, { scope: location.pathname });
      if (kept.active) kept.active.postMessage("gather");
      const worker = kept.active ?? kept.waiting ?? kept.installing;
      const ready = () => worker.state === "activated" && root.setAttribute("data-kept", "");
      worker.addEventListener("statechange", ready);
      ready();
    } catch {
      // counting goes on while the page stays open; only opening it anew needs a connection
    }
  }

  root.hidden = false;
  for (const key of all("press")) key.addEventListener("click", () => press(key.dataset.press));
  find("begin").addEventListener("submit", (event) => {
    event.preventDefault();
    begin(event.target);
  });
  find("undo").addEventListener("click", () => {
    kept.running.presses.pop();
    keep();
  });
  find("finish").addEventListener("click", () => finish(now(kept.running)));
  find("finish-then").addEventListener("click", () => finish(kept.running.presses.at(-1).at));
  addEventListener("storage", (event) => {
    if (event.key !== KEPT) return;
    kept = load();
    show();
  });
  addEventListener("online", tryAgain);
  addEventListener("focus", tryAgain);
  document.addEventListener("visibilitychange", tryAgain);
  setInterval(tick, 1000);
  show();
  tryAgain();
  if (!root.dataset.shell) keepPage();
})();
