"""Why a project cannot be built as asked, and what would change that: found by asking the search again."""
