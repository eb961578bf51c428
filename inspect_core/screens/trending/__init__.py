"""The answers of the trends page, one module per question. Loaded with Altair only when the page is opened."""
