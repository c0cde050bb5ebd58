"""The same as the pages, for programs: JSON in and out, described by OpenAPI.

Comes in: JSON with units in its keys and an idempotency key. Goes out: JSON, or problem+json that
names the field, the value, what is allowed and what to do. May ask: `book`, `plan` and below.
"""
