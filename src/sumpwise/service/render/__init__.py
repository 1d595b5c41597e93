"""How facts are shown: in which units, to which digits, in which words, as Markdown, HTML or JSON."""
