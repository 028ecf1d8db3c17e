// What makes the pages quicker to use. Every page works without it.
"use strict";

// Rows are filtered while one types; without this the form does it.
for (const input of document.querySelectorAll("input[data-filter]")) {
	const rows = [...document.querySelectorAll("main tbody tr")].map(row => [row, row.textContent.toLowerCase()]);
	input.addEventListener("input", () => {
		const wanted = input.value.trim().toLowerCase();
		for (const [row, text] of rows) row.hidden = !text.includes(wanted);
	});
}

// "/" goes to the field that finds a bird.
document.addEventListener("keydown", event => {
	const typing = event.target.closest("input, select, textarea, [contenteditable]");
	if (event.key !== "/" || typing || event.ctrlKey || event.metaKey || event.altKey) return;
	event.preventDefault();
	document.getElementById("find").focus();
});
