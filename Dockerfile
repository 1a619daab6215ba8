# One image for pages, worker, beat, migrations and backups; compose.yaml says which runs what.
FROM python:3.11-slim-bookworm AS build
WORKDIR /app
COPY requirements.txt .
RUN python -m venv /venv && /venv/bin/pip install --no-cache-dir --require-hashes -r requirements.txt

FROM python:3.11-slim-bookworm
# pg_dump and pg_restore, for the backups.
RUN apt-get update && apt-get install -y --no-install-recommends postgresql-client \
    && rm -rf /var/lib/apt/lists/* \
    && useradd --system --uid 10001 --home-dir /data bench \
    && mkdir /data /backups && chown bench /data /backups
COPY --from=build /venv /venv
WORKDIR /app
COPY manage.py pyproject.toml LICENSE ./
COPY shop shop
COPY checklists checklists
COPY templates templates
ENV PATH=/venv/bin:$PATH PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 BENCHTAG_DATA=/data
USER bench
EXPOSE 8000
CMD ["granian", "--interface", "asginl", "--host", "0.0.0.0", "--port", "8000", "--factory", "shop.site.asgi:served"]
