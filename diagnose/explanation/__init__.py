"""Why a cause ranks where it does: prior, chain, evidence, contrast."""
