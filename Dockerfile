FROM node:22-slim AS node

FROM golang:1.26 AS build
COPY --from=node /usr/local/bin/node /usr/local/bin/
COPY --from=node /usr/local/lib/node_modules /usr/local/lib/node_modules
RUN ln -s ../lib/node_modules/npm/bin/npm-cli.js /usr/local/bin/npm
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
# The phone app is built with Node.js, and embedded.
RUN make app \
 && CGO_ENABLED=0 go build -trimpath -ldflags='-s -w' -o /out/evenwhite ./server \
 && install -d -m 0700 /out/data

FROM gcr.io/distroless/static:nonroot
COPY --from=build /out/evenwhite /evenwhite
COPY --from=build --chown=nonroot:nonroot /out/data /data
USER nonroot
VOLUME /data
# With --network host: the name and the addresses that phones are told are the machine's.
EXPOSE 8443 8480
ENTRYPOINT ["/evenwhite"]
CMD ["serve", "--data", "/data"]
