"""One module a question: each runs statements of sql/ and shapes the answer."""
