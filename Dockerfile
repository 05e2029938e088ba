# The gateway and the simulated plant in one image; docker-compose.yml starts each as its own container.
FROM node:24.21.0-bookworm-slim AS build
WORKDIR /app
COPY package.json package-lock.json ./
# Whole, because the dashboard's builder brings its native parts as optional packages; what only builds is taken out again afterwards.
RUN npm ci --no-audit --no-fund --loglevel=error
COPY . .
RUN node node_modules/vite/bin/vite.js build --logLevel warn && npm prune --omit=dev --omit=optional --no-audit --no-fund --loglevel=error

FROM node:24.21.0-bookworm-slim
WORKDIR /app
COPY --from=build /app/package.json ./
COPY --from=build /app/node_modules node_modules
COPY --from=build /app/dist dist
COPY --from=build /app/src src
COPY --from=build /app/gateway gateway
RUN mkdir /data && chown node:node /data
USER node
VOLUME /data
EXPOSE 8080
ENTRYPOINT ["node", "gateway/main.ts"]
CMD ["demo", "--host", "0.0.0.0", "--data", "/data"]
