// What makes the pages quicker to use. Every page works without it.
"use strict";

// Rows are filtered while one types; without this the form does it.
for (const input of document.querySelectorAll("input[data-filter]")) {
	const rows = [...document.querySelectorAll("main tbody tr, main .card")].map(row => [row, row.textContent.toLowerCase()]);
	const told = input.form.querySelector("output");
	let pause;
	input.addEventListener("input", () => {
		const wanted = input.value.trim().toLowerCase();
		for (const [row, text] of rows) row.hidden = !text.includes(wanted);
		clearTimeout(pause); // who listens is not told of every letter
		pause = setTimeout(() => { told.textContent = wanted && `${rows.filter(([row]) => !row.hidden).length} of ${rows.length} shown`; }, 400);
	});
}

// A page is printed by a button too; without this by the browser's own menu.
for (const button of document.querySelectorAll("[data-print]")) {
	button.hidden = false;
	button.addEventListener("click", () => window.print());
}

// A season answers as soon as it is changed, and one goes on where one was; without
// this its button does it.
for (const form of document.querySelectorAll("form[data-live]")) {
	const fields = [...form.querySelectorAll("input[type=number], input[type=checkbox], #beside")];
	form.addEventListener("change", event => {
		const at = fields.indexOf(event.target);
		if (at < 0) return;
		sessionStorage.setItem("field", at);
		form.requestSubmit();
	});
	const at = sessionStorage.getItem("field");
	sessionStorage.removeItem("field");
	if (at !== null) fields[at]?.focus();
}

// A page about what is wrong with the files shows itself again when they have changed;
// without this one asks for it again.
const watched = document.querySelector("[data-state]");
if (watched) {
	for (const promise of watched.querySelectorAll("[data-script]")) promise.hidden = false;
	setInterval(async () => {
		if (document.hidden) return;
		try {
			const state = await (await fetch("/state")).text();
			if (state !== watched.dataset.state) location.reload();
		} catch { /* the program was stopped */ }
	}, 2000);
}

// A page that waits for another shows how far that is, and it when it is there; without
// this it asks for itself again, which takes the focus from what one was at.
const waits = document.querySelector("[data-waits]");
if (waits) {
	const headers = {Accept: "text/html"};
	if (waits.dataset.waits === "page") headers["Pairwright-Look"] = "yes"; // it is left for the page itself
	const look = async () => {
		try {
			const answer = await fetch(location.href, {headers});
			const next = answer.status === 204 ? null : new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-waits]");
			if (!next) return location.reload();
			const parts = next.querySelectorAll("[data-part]");
			waits.querySelectorAll("[data-part]").forEach((part, k) => {
				if (parts[k] && part.innerHTML !== parts[k].innerHTML) part.innerHTML = parts[k].innerHTML;
			});
		} catch { /* the program was stopped */ }
		setTimeout(look, 1000);
	};
	setTimeout(look, 1000);
}

// "/" goes to the field that finds a bird.
document.addEventListener("keydown", event => {
	const typing = event.target.closest("input, select, textarea, [contenteditable]");
	if (event.key !== "/" || typing || event.ctrlKey || event.metaKey || event.altKey) return;
	event.preventDefault();
	document.getElementById("find").focus();
});
