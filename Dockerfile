# The API alone, on a distribution that packages .NET 10; docker-compose.yml gives it a PostgreSQL.
FROM ubuntu:26.04 AS build
RUN apt-get update && apt-get install -y --no-install-recommends dotnet-sdk-10.0 ca-certificates && rm -rf /var/lib/apt/lists/*
WORKDIR /source
COPY . .
RUN dotnet publish src/CashEvents.Api -c Release -o /program

FROM ubuntu:26.04
RUN apt-get update && apt-get install -y --no-install-recommends aspnetcore-runtime-10.0 tzdata && rm -rf /var/lib/apt/lists/* \
    && useradd --system --create-home cashevents && mkdir /data && chown cashevents /data
COPY --from=build /program /program
USER cashevents
ENV CASHEVENTS_DATA=/data
VOLUME /data
EXPOSE 5080
# Whether PostgreSQL answers too; by the shell, since nothing else here speaks HTTP.
HEALTHCHECK --interval=30s --timeout=5s --start-period=60s CMD ["bash", "-c", "exec 3<>/dev/tcp/127.0.0.1/5080 && printf 'GET /health/ready HTTP/1.1\\r\\nHost: localhost\\r\\nConnection: close\\r\\n\\r\\n' >&3 && grep -q '^HTTP/1.1 200' <&3"]
ENTRYPOINT ["dotnet", "/program/CashEvents.Api.dll", "--urls", "http://0.0.0.0:5080"]
