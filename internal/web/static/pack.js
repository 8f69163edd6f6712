// The script of a day pack, which is a file by itself: it opens what the file
// holds with the code, shows the list, and checks a lens in hand against it.
// It stores nothing and asks nobody.
(function () {
  "use strict";
  var body = document.body, words = JSON.parse(body.dataset.words), main = document.getElementById("main");

  function bytes(text) { return Uint8Array.from(atob(text), function (c) { return c.charCodeAt(0); }); }
  function say(key, values) {
    return (words[key] || "[" + key + "]").replace(/\{([a-z]+)\}/g, function (_, name) { return values[name]; });
  }
  function el(tag, text, attributes) {
    var e = document.createElement(tag);
    if (text) e.textContent = text;
    Object.keys(attributes || {}).forEach(function (k) { e.setAttribute(k, attributes[k]); });
    return e;
  }

  // cents reads a typed power in hundredths of a dioptre; null when it is none.
  function cents(text) {
    var t = text.trim().replace(/\u2212/g, "-").replace(",", ".").replace(/\s*D$/i, "");
    return /^[+-]?\d{1,2}(\.\d{1,2})?$/.test(t) ? Math.round(Number(t) * 100) : null;
  }

  document.getElementById("open").addEventListener("submit", function (e) {
    e.preventDefault();
    var says = document.getElementById("says");
    if (!window.crypto || !crypto.subtle) { says.textContent = say("old", {}); return; }
    var code = document.getElementById("code").value.toUpperCase().replace(/[^0-9A-Z]/g, "").replace(/O/g, "0").replace(/[IL]/g, "1");
    says.textContent = say("opening", {});
    crypto.subtle.importKey("raw", new TextEncoder().encode(code), "PBKDF2", false, ["deriveKey"]).then(function (k) {
      return crypto.subtle.deriveKey({ name: "PBKDF2", hash: "SHA-256", salt: bytes(body.dataset.salt), iterations: Number(body.dataset.rounds) }, k, { name: "AES-GCM", length: 256 }, false, ["decrypt"]);
    }).then(function (key) {
      return crypto.subtle.decrypt({ name: "AES-GCM", iv: bytes(body.dataset.iv) }, key, bytes(body.dataset.box));
    }).then(function (plain) {
      show(JSON.parse(new TextDecoder().decode(plain)));
    }, function () { says.textContent = say("wrong", {}); });
  });

  function show(pack) {
    main.replaceChildren(el("h1", say("list", { date: pack.Date })), el("p", say("asof", { time: pack.AsOf, name: pack.By }), { "class": "as-of" }));
    var now = new Date(), day = now.getFullYear() + "-" + ("0" + (now.getMonth() + 1)).slice(-2) + "-" + ("0" + now.getDate()).slice(-2);
    if (day !== pack.Day) main.append(el("p", say("otherday", { date: pack.Date }), { "class": "answer stop" }));
    main.append(check(pack), list(pack), el("p", say("licensed", {})));
    document.getElementById("number").focus();
  }

  function list(pack) {
    var scroll = el("div", "", { "class": "scroll", tabindex: "0", role: "group", "aria-label": say("eyes", {}) }), table = el("table"), head = el("tr");
    ["place", "who", "side", "sheet", "allergies"].forEach(function (k) { head.append(el("th", say("col-" + k, {}), { scope: "col" })); });
    table.append(el("thead"));
    table.firstChild.append(head);
    var rows = el("tbody");
    pack.Eyes.forEach(function (x) {
      var row = el("tr"), who = el("th", x.Name, { scope: "row" });
      who.append(el("div", x.Identifier + " · " + x.About, { "class": "about" }));
      row.append(el("td", x.Place), who, el("td", x.Side, { "class": "side" }), el("td", x.State), el("td", x.Allergies));
      rows.append(row);
    });
    table.append(rows);
    scroll.append(el("h2", say("eyes", {})), table);
    return scroll;
  }

  function field(form, id, key) {
    var p = el("p");
    p.append(el("label", say(key, {}), { "for": id }), el("input", "", { id: id, autocomplete: "off" }));
    form.append(p);
  }

  // check holds the paper against the pack first, and then the box against
  // both. The planned power is not shown before everything is typed.
  function check(pack) {
    var form = el("form", "", { id: "check" });
    form.append(el("h2", say("check", {})), el("p", say("how", {})));
    field(form, "number", "number");
    field(form, "identifier", "identifier");
    field(form, "paper", "paper");
    field(form, "model", "model");
    field(form, "first", "first");
    field(form, "second", "second");
    var p = el("p"), out = el("div", "", { id: "answer", role: "alert" });
    p.append(el("button", say("compare", {})));
    form.append(p, out);
    form.addEventListener("submit", function (e) {
      e.preventDefault();
      answer(pack, out, function (id) { return document.getElementById(id).value.trim(); });
    });
    form.addEventListener("input", function () { out.replaceChildren(); out.className = ""; });
    return form;
  }

  function answer(pack, out, typed) {
    var eye = pack.Eyes.filter(function (x) { return x.Number && Number(x.Number) === Number(typed("number")) && typed("number"); })[0];
    var wrong = [];
    if (!eye) {
      wrong.push(say("nosheet", { n: typed("number"), time: pack.AsOf }));
    } else {
      var paper = cents(typed("paper")), first = cents(typed("first")), second = cents(typed("second"));
      if (typed("identifier").toLowerCase() !== eye.Identifier.toLowerCase()) wrong.push(say("otherperson", {}));
      if (paper === null) wrong.push(say("nopaper", {}));
      else if (paper !== eye.Cents) wrong.push(say("paperdiffers", { time: pack.AsOf }));
      if (typed("model").toLowerCase().replace(/\s+/g, " ") !== eye.Model.toLowerCase()) wrong.push(say("modeldiffers", { typed: typed("model") }));
      if (first === null || second === null) wrong.push(say("nopower", {}));
      else if (first !== second) wrong.push(say("twodiffer", {}));
      else if (first !== eye.Cents) wrong.push(say("boxdiffers", {}));
    }
    out.replaceChildren();
    out.className = wrong.length ? "answer stop" : "answer";
    if (wrong.length) {
      out.append(el("b", say("stop", {})));
      wrong.forEach(function (line) { out.append(el("p", line)); });
      return;
    }
    out.append(el("p", say("agrees", { n: eye.Number, time: pack.AsOf })), el("span", eye.Power.replace("\u202f", " "), { "class": "power" }), el("p", eye.Model), el("b", eye.Side),
      el("p", eye.Name + ", " + eye.Identifier), el("p", say("aloud", {})));
  }
})();
