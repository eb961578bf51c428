"""The account of everything decided: canonical form and hash chain, Merkle tree, signed heads, proofs."""

from inspect_core.ledger.chain import (
    GENESIS,
    Chain,
    broken_links,
    canonical,
    content_of,
    digest_of,
    entry_after,
    entry_content,
    next_entry,
)
from inspect_core.ledger.heads import fingerprint, head_from_plain, head_message, head_plain, key_id, signed_by
from inspect_core.ledger.merkle import (
    EMPTY_ROOT,
    Frontier,
    consistency_holds,
    consistency_path,
    frontier_numbers,
    inclusion_path,
    leaf_hash,
    node_hash,
    node_place,
    root_by_path,
)
from inspect_core.ledger.proof import Proved, check_proof, leaf_of, proof_plain

__all__ = [
    "EMPTY_ROOT",
    "GENESIS",
    "Chain",
    "Frontier",
    "Proved",
    "broken_links",
    "canonical",
    "check_proof",
    "consistency_holds",
    "consistency_path",
    "content_of",
    "digest_of",
    "entry_after",
    "entry_content",
    "fingerprint",
    "frontier_numbers",
    "head_from_plain",
    "head_message",
    "head_plain",
    "inclusion_path",
    "key_id",
    "leaf_hash",
    "leaf_of",
    "next_entry",
    "node_hash",
    "node_place",
    "proof_plain",
    "root_by_path",
    "signed_by",
]
